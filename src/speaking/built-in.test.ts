// What the built-in voice says, as the tools and the worker compute it.
import { describe, expect, test } from 'vitest';
import { synthesise, synthesiseWithPhones, toWav } from '../../tools/speak.ts';
import { BUILT_IN_VOICES, VOICE_RATE } from './flite.ts';

const SENTENCES = [
  'Intake two, zero point one eight, set.',
  'Exhaust four, seven thou, drag okay?',
  'Turn the crankshaft to top dead centre on cylinder one, then say carry on.',
];

const peak = (samples: Float32Array) =>
  samples.reduce((highest, sample) => Math.max(highest, Math.abs(sample)), 0);
const level = (samples: Float32Array) =>
  Math.sqrt(samples.reduce((sum, x) => sum + x * x, 0) / samples.length);

describe.each(BUILT_IN_VOICES)('the voice %s', (voice) => {
  test.each(SENTENCES)('says "%s" in a plausible time, loud and not clipped', async (text) => {
    const samples = await synthesise(text, { voice });
    const lettersPerSecond = text.length / (samples.length / VOICE_RATE);
    expect(lettersPerSecond).toBeGreaterThan(10);
    expect(lettersPerSecond).toBeLessThan(20);
    expect(peak(samples)).toBeLessThan(0.96);
    expect(level(samples)).toBeGreaterThan(0.08);
    expect(level(samples)).toBeLessThan(0.13);
  });

  test('starts and ends without silence', async () => {
    const samples = await synthesise(SENTENCES[0]!, { voice });
    const audible = 0.001; // the silence is cut at twice that, before the level is set
    expect(peak(samples.subarray(0, 0.03 * VOICE_RATE))).toBeGreaterThan(audible);
    expect(peak(samples.subarray(-0.06 * VOICE_RATE))).toBeGreaterThan(audible);
  });
});

test('every voice sounds different, and each says a sentence the same way twice', async () => {
  const text = SENTENCES[0]!;
  const said = await Promise.all(BUILT_IN_VOICES.map((voice) => synthesise(text, { voice })));
  expect(new Set(said.map((samples) => samples.join())).size).toBe(BUILT_IN_VOICES.length);
  expect(await synthesise(text, { voice: 'slt' })).toEqual(said[0]);
});

test('a higher rate is shorter in proportion', async () => {
  const normal = await synthesise(SENTENCES[2]!, { voice: 'slt' });
  const faster = await synthesise(SENTENCES[2]!, { voice: 'slt', rate: 1.25 });
  expect(normal.length / faster.length).toBeCloseTo(1.25, 1);
});

test('the 8-kHz voice is doubled without an image of its band', async () => {
  const samples = await synthesise(SENTENCES[2]!, { voice: 'kal' });
  expect(powerAt(samples, 6_500)).toBeLessThan(0.01 * powerAt(samples, 1_500));
});

test('nothing to say is no sound', async () => {
  expect(await synthesise(' … ', { voice: 'slt' })).toHaveLength(0);
});

test.each([
  ['seven thou', 's eh v ax n th aw'],
  ['reading', 'r iy d ih ng'],
  ['recheck', 'r iy ch eh k'],
  ['newton metres', 'n uw t ax n m iy t er z'],
  ['millimetres', 'm ih l ax m iy t er z'],
  ['torqued', 't ao r k t'],
  ['locknut', 'l aa k n ah t'],
])('"%s" is said %s', async (text, phones) => {
  expect((await synthesiseWithPhones(text, { voice: 'slt' })).phones).toBe(`pau ${phones} pau`);
});

test('no pronunciation has a phone that the synthesiser does not know', async () => {
  const { phones } = await synthesiseWithPhones('set', { voice: 'slt' });
  expect(phones).not.toContain('phoneset');
});

test('a WAV file has a header and two bytes a sample', () => {
  const wav = Buffer.from(toWav(new Float32Array([0, 1, -1])));
  expect(wav.toString('latin1', 0, 4)).toBe('RIFF');
  expect(wav.readUInt32LE(24)).toBe(16_000);
  expect([wav.readInt16LE(44), wav.readInt16LE(46), wav.readInt16LE(48)]).toEqual([0, 32_767, -32_767]);
});

/** Mean power in the 200 Hz around `hertz`, by sums over single frequencies. */
function powerAt(samples: Float32Array, hertz: number): number {
  let power = 0;
  for (let f = hertz - 100; f <= hertz + 100; f += 10) {
    let re = 0;
    let im = 0;
    samples.forEach((sample, i) => {
      const angle = (2 * Math.PI * f * i) / VOICE_RATE;
      re += sample * Math.cos(angle);
      im += sample * Math.sin(angle);
    });
    power += re * re + im * im;
  }
  return power;
}
