// Reads a WAV file of any usual kind as what hearing works on: mono, −1…1, 16,000 samples a second.
import { SAMPLE_RATE } from '../src/hearing/recogniser.ts';

const PCM = 1;
const FLOAT = 3;
const EXTENSIBLE = 0xfffe;

interface Format {
  readonly kind: number;
  readonly channels: number;
  readonly rate: number;
  readonly bits: number;
}

/**
 * @param file a whole WAV (RIFF) file: PCM of 8, 16, 24 or 32 bits or float of 32 or 64 bits, any rate and channels.
 * @returns mono samples at SAMPLE_RATE; channels are averaged.
 * @throws Error with one sentence saying what is wrong with the file.
 */
export function readWav(file: Uint8Array): Float32Array {
  const { format, data } = readChunks(file);
  const sample = sampleReader(format);
  const size = (format.bits / 8) * format.channels;
  const count = Math.floor(data.byteLength / size);
  if (count === 0) throw new Error('The WAV file holds no sound.');
  const mono = new Float32Array(count);
  for (let i = 0; i < count; i++) {
    let sum = 0;
    for (let c = 0; c < format.channels; c++) sum += sample(data, i * size + (c * format.bits) / 8);
    mono[i] = sum / format.channels;
  }
  return resample(mono, format.rate, SAMPLE_RATE);
}

function readChunks(file: Uint8Array): { format: Format; data: DataView } {
  const view = new DataView(file.buffer, file.byteOffset, file.byteLength);
  const name = (at: number) => String.fromCharCode(...file.subarray(at, at + 4));
  if (file.byteLength === 0) throw new Error('The file is empty.');
  if (file.byteLength < 12 || name(0) !== 'RIFF' || name(8) !== 'WAVE')
    throw new Error('This is not a WAV file.');
  let format: Format | undefined;
  for (let at = 12; at + 8 <= file.byteLength; ) {
    const id = name(at);
    const length = view.getUint32(at + 4, true);
    const start = at + 8;
    if (id === 'data') {
      if (!format) break;
      // Programs that write to a pipe leave the length open as 0 or the largest number.
      const open = length === 0xffffffff || length === 0;
      if (!open && start + length > file.byteLength) throw new Error('The WAV file is cut short.');
      return {
        format,
        data: new DataView(view.buffer, view.byteOffset + start, open ? file.byteLength - start : length),
      };
    }
    if (start + length > file.byteLength) break;
    if (id === 'fmt ') format = readFormat(new DataView(view.buffer, view.byteOffset + start, length));
    at = start + length + (length % 2);
  }
  throw new Error(
    format ? 'The WAV file is cut short: its sound is missing.' : 'The WAV file has a damaged header.',
  );
}

function readFormat(chunk: DataView): Format {
  if (chunk.byteLength < 16) throw new Error('The WAV file has a damaged header.');
  const tag = chunk.getUint16(0, true);
  const kind = tag === EXTENSIBLE && chunk.byteLength >= 26 ? chunk.getUint16(24, true) : tag;
  const channels = chunk.getUint16(2, true);
  const rate = chunk.getUint32(4, true);
  const bits = chunk.getUint16(14, true);
  const known =
    (kind === PCM && [8, 16, 24, 32].includes(bits)) || (kind === FLOAT && [32, 64].includes(bits));
  if (!known) throw new Error(`WAV files of kind ${kind} with ${bits} bits cannot be read.`);
  if (channels === 0 || rate < 4000 || rate > 384_000) throw new Error('The WAV file has a damaged header.');
  return { kind, channels, rate, bits };
}

/** Reads one sample, −1…1, at a byte offset. */
function sampleReader({ kind, bits }: Format): (data: DataView, at: number) => number {
  if (kind === FLOAT) {
    const read = bits === 32 ? 'getFloat32' : 'getFloat64';
    return (data, at) => {
      const value = data[read](at, true);
      return Number.isFinite(value) ? value : 0;
    };
  }
  switch (bits) {
    case 8:
      return (data, at) => (data.getUint8(at) - 128) / 128;
    case 16:
      return (data, at) => data.getInt16(at, true) / 32_768;
    case 24:
      return (data, at) => (data.getUint8(at) + data.getInt16(at + 1, true) * 256) / 8_388_608;
    default:
      return (data, at) => data.getInt32(at, true) / 2_147_483_648;
  }
}

/** Zero crossings of the sinc on either side, counted at the lower of the two rates. */
const CROSSINGS = 32;

/**
 * Band-limited interpolation with a Hann-windowed sinc, its cut-off a little below the lower Nyquist frequency.
 * @param from and to are samples per second.
 */
export function resample(samples: Float32Array, from: number, to: number): Float32Array {
  if (from === to) return samples;
  const out = new Float32Array(Math.round((samples.length * to) / from));
  const cutoff = 0.95 * Math.min(1, to / from);
  const reach = CROSSINGS / cutoff;
  // The kernel repeats after `phases` outputs, so it is worked out once for each.
  const phases = to / greatestCommonDivisor(from, to);
  const width = 2 * Math.ceil(reach) + 1;
  const kernels = Array.from({ length: phases }, (_, phase) => {
    const offset = ((phase * from) / to) % 1;
    return Float64Array.from({ length: width }, (_, k) => {
      const x = k - Math.ceil(reach) - offset;
      if (Math.abs(x) >= reach) return 0;
      const sinc = x === 0 ? 1 : Math.sin(Math.PI * cutoff * x) / (Math.PI * cutoff * x);
      return cutoff * sinc * (0.5 + 0.5 * Math.cos((Math.PI * x) / reach));
    });
  });
  for (let i = 0; i < out.length; i++) {
    const kernel = kernels[i % phases]!;
    const first = Math.floor((i * from) / to) - Math.ceil(reach);
    let sum = 0;
    for (let k = Math.max(0, -first); k < width && first + k < samples.length; k++) {
      sum += kernel[k]! * samples[first + k]!;
    }
    out[i] = sum;
  }
  return out;
}

function greatestCommonDivisor(a: number, b: number): number {
  return b === 0 ? a : greatestCommonDivisor(b, a % b);
}
