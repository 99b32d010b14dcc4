// Log-mel features: what the network sees of sound. Every figure here was fixed when the network was trained
// (Kaldi's "fbank" with the Povey window and snip-edges), so none of them is a matter of taste.
import { SAMPLE_RATE } from './recogniser.ts';

/** Samples in one frame (25 ms), and from one frame to the next (10 ms). */
export const FRAME = 400;
export const HOP = 160;
/** Numbers in one frame of features. */
export const MEL_BINS = 40;

const FFT_SIZE = 512;
const PRE_EMPHASIS = 0.97;
const LOWEST_HZ = 20;
const HIGHEST_HZ = 7600;
/** The network was trained on samples in the scale of 16-bit integers. */
const INT16_SCALE = 32_768;
/** Single-precision epsilon: keeps the logarithm of digital silence finite. */
const ENERGY_FLOOR = 1.1920929e-7;

const WINDOW = Float64Array.from(
  { length: FRAME },
  (_, i) => (0.5 - 0.5 * Math.cos((2 * Math.PI * i) / (FRAME - 1))) ** 0.85,
);
const FILTERS = melFilters();
const { cos: COS, sin: SIN, reversed: REVERSED } = fftTables();

/** Whole frames in so many samples. */
export function frameCount(samples: number): number {
  return samples < FRAME ? 0 : 1 + Math.floor((samples - FRAME) / HOP);
}

/** @param samples mono at SAMPLE_RATE, −1…1.  @returns frameCount × MEL_BINS natural logarithms, row by row. */
export function logMel(samples: Float32Array): Float32Array {
  const frames = frameCount(samples.length);
  const out = new Float32Array(frames * MEL_BINS);
  for (let i = 0; i < frames; i++) frameLogMel(samples, i * HOP, out, i * MEL_BINS);
  return out;
}

const re = new Float64Array(FFT_SIZE);
const im = new Float64Array(FFT_SIZE);

/** The frame that begins at sample `at`, written to `out` from `to` on. */
export function frameLogMel(samples: Float32Array, at: number, out: Float32Array, to: number): void {
  let mean = 0;
  for (let i = 0; i < FRAME; i++) mean += samples[at + i]!;
  mean /= FRAME;
  re.fill(0);
  im.fill(0);
  let before = samples[at]! - mean;
  for (let i = 0; i < FRAME; i++) {
    const now = samples[at + i]! - mean;
    re[REVERSED[i]!] = (now - PRE_EMPHASIS * before) * WINDOW[i]! * INT16_SCALE;
    before = now;
  }
  fft(re, im);
  for (let bin = 0; bin < MEL_BINS; bin++) {
    const { first, weights } = FILTERS[bin]!;
    let energy = 0;
    for (let k = 0; k < weights.length; k++) {
      const x = re[first + k]!;
      const y = im[first + k]!;
      energy += weights[k]! * (x * x + y * y);
    }
    out[to + bin] = Math.log(Math.max(energy, ENERGY_FLOOR));
  }
}

/** Triangles of height 1, linear in mel; each as its first FFT bin and the weights from there on. */
function melFilters(): { first: number; weights: Float64Array }[] {
  const mel = (hz: number) => 1127 * Math.log(1 + hz / 700);
  const lowest = mel(LOWEST_HZ);
  const step = (mel(HIGHEST_HZ) - lowest) / (MEL_BINS + 1);
  return Array.from({ length: MEL_BINS }, (_, bin) => {
    const centre = lowest + (bin + 1) * step;
    const bins = Array.from({ length: FFT_SIZE / 2 }, (_, k) => k);
    const weight = (k: number) => 1 - Math.abs(mel((k * SAMPLE_RATE) / FFT_SIZE) - centre) / step;
    const inside = bins.filter((k) => weight(k) > 0);
    return { first: inside[0]!, weights: Float64Array.from(inside, weight) };
  });
}

function fftTables() {
  const bits = Math.log2(FFT_SIZE);
  const reversed = new Uint16Array(FFT_SIZE);
  for (let i = 0; i < FFT_SIZE; i++) reversed[i] = (reversed[i >> 1]! >> 1) | ((i & 1) << (bits - 1));
  const half = { length: FFT_SIZE / 2 };
  return {
    reversed,
    cos: Float64Array.from(half, (_, i) => Math.cos((2 * Math.PI * i) / FFT_SIZE)),
    sin: Float64Array.from(half, (_, i) => -Math.sin((2 * Math.PI * i) / FFT_SIZE)),
  };
}

/** Radix-2 Fourier transform in place; the input is already in bit-reversed order. */
function fft(re: Float64Array, im: Float64Array): void {
  for (let size = 2; size <= FFT_SIZE; size *= 2) {
    const half = size / 2;
    const step = FFT_SIZE / size;
    for (let start = 0; start < FFT_SIZE; start += size) {
      for (let k = 0; k < half; k++) {
        const c = COS[k * step]!;
        const s = SIN[k * step]!;
        const a = start + k;
        const b = a + half;
        const x = re[b]! * c - im[b]! * s;
        const y = re[b]! * s + im[b]! * c;
        re[b] = re[a]! - x;
        im[b] = im[a]! - y;
        re[a]! += x;
        im[a]! += y;
      }
    }
  }
}
