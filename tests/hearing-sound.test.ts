// Sound files of all usual kinds, and what is said about those that are none.
import { describe, expect, it } from 'vitest';
import { readWav, resample } from '../tools/sound.ts';

interface Kind {
  readonly kind?: number;
  readonly bits?: number;
  readonly rate?: number;
  readonly channels?: number;
}

/** A WAV file of a wave given as a function of seconds, each further channel silent. */
function wav(
  seconds: number,
  wave: (t: number) => number,
  { kind = 1, bits = 16, rate = 16_000, channels = 1 }: Kind = {},
) {
  const count = Math.round(seconds * rate);
  const size = (bits / 8) * channels;
  const bytes = new Uint8Array(44 + count * size);
  const view = new DataView(bytes.buffer);
  const name = (at: number, text: string) => bytes.set(new TextEncoder().encode(text), at);
  name(0, 'RIFF');
  view.setUint32(4, bytes.length - 8, true);
  name(8, 'WAVEfmt ');
  view.setUint32(16, 16, true);
  view.setUint16(20, kind, true);
  view.setUint16(22, channels, true);
  view.setUint32(24, rate, true);
  view.setUint32(28, rate * size, true);
  view.setUint16(32, size, true);
  view.setUint16(34, bits, true);
  name(36, 'data');
  view.setUint32(40, count * size, true);
  for (let i = 0; i < count; i++) {
    const at = 44 + i * size;
    const x = wave(i / rate);
    if (kind === 3 && bits === 32) view.setFloat32(at, x, true);
    else if (kind === 3) view.setFloat64(at, x, true);
    else if (bits === 8) view.setUint8(at, Math.round(x * 127) + 128);
    else if (bits === 16) view.setInt16(at, Math.round(x * 32_767), true);
    else if (bits === 32) view.setInt32(at, Math.round(x * 2_147_483_647), true);
    else {
      const whole = Math.round(x * 8_388_607);
      view.setUint8(at, whole & 0xff);
      view.setInt16(at + 1, whole >> 8, true);
    }
  }
  return bytes;
}

const tone = (hz: number) => (t: number) => 0.5 * Math.sin(2 * Math.PI * hz * t);
/** How far samples are from a wave, away from the ends. */
function error(samples: Float32Array, wave: (t: number) => number): number {
  return samples
    .subarray(800, -800)
    .reduce((most, x, i) => Math.max(most, Math.abs(x - wave((i + 800) / 16_000))), 0);
}

describe('a WAV file', () => {
  it.each([
    [{ bits: 8 }, 0.01],
    [{ bits: 16 }, 1e-4],
    [{ bits: 24 }, 1e-6],
    [{ bits: 32 }, 1e-6],
    [{ kind: 3, bits: 32 }, 1e-6],
    [{ kind: 3, bits: 64 }, 1e-6],
  ])('of %o is read as it is', (kind, close) => {
    const samples = readWav(wav(0.5, tone(440), kind));
    expect(samples).toHaveLength(8000);
    expect(error(samples, tone(440))).toBeLessThan(close);
  });

  it.each([8000, 11_025, 22_050, 44_100, 48_000, 96_000])('of %i samples a second keeps its tone', (rate) => {
    const samples = readWav(wav(0.5, tone(1000), { rate }));
    expect(Math.abs(samples.length - 8000)).toBeLessThanOrEqual(1);
    expect(error(samples, tone(1000))).toBeLessThan(0.003);
  });

  it('of two channels is their mean', () => {
    expect(error(readWav(wav(0.5, tone(440), { channels: 2 })), (t) => tone(440)(t) / 2)).toBeLessThan(1e-4);
  });

  it('of which the length was left open is read to its end', () => {
    const file = wav(0.1, tone(440));
    new DataView(file.buffer).setUint32(40, 0xffffffff, true);
    expect(readWav(file)).toHaveLength(1600);
  });

  it.each([
    ['is empty', new Uint8Array(0), 'The file is empty.'],
    ['is something else', new TextEncoder().encode('not a sound at all'), 'This is not a WAV file.'],
    ['is cut short', wav(1, tone(440)).subarray(0, 10_000), 'The WAV file is cut short.'],
    ['is cut within its header', wav(1, tone(440)).subarray(0, 30), 'The WAV file has a damaged header.'],
    [
      'ends before its sound',
      wav(1, tone(440)).subarray(0, 40),
      'The WAV file is cut short: its sound is missing.',
    ],
    ['has no samples', wav(0, tone(440)), 'The WAV file holds no sound.'],
    [
      'is of an unknown kind',
      wav(0.1, tone(440), { kind: 85 }),
      'WAV files of kind 85 with 16 bits cannot be read.',
    ],
  ])('that %s is refused', (_, file, message) => {
    expect(() => readWav(file)).toThrow(message);
  });
});

describe('resampling', () => {
  it('lets nothing above the new limit through', () => {
    const high = Float32Array.from({ length: 24_000 }, (_, i) =>
      Math.sin((2 * Math.PI * 10_000 * i) / 48_000),
    );
    expect(Math.max(...resample(high, 48_000, 16_000).subarray(200, -200).map(Math.abs))).toBeLessThan(0.003);
  });
});
