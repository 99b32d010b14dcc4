// Text to samples with the built-in synthesiser, wherever its compiled module was loaded: a worker or Node.
// A new instance for every sentence costs 10 ms and needs no trust in what the last one left in memory.
import { LEXICON_ADDITIONS } from './pronounce.ts';
import { runProgram } from './wasi.ts';

/** Samples per second of everything the built-in voice says (mono, −1…1). */
export const VOICE_RATE = 16_000;

export const BUILT_IN_VOICES = ['slt', 'rms', 'awb', 'kal16', 'kal'] as const;
/** slt: a woman; rms: a man; awb: a Scottish man; kal16 and kal: an older, more mechanical man, kal with telephone bandwidth. */
export type BuiltInVoice = (typeof BUILT_IN_VOICES)[number];

export interface Manner {
  readonly voice: BuiltInVoice;
  /** Speed: 1 is the voice's own, 2 twice as fast. */
  readonly rate?: number;
  /** Mean pitch in hertz; left out, the voice's own. */
  readonly pitch?: number;
}

export interface Synthesised {
  /** Mono at VOICE_RATE, without silence before and after, every voice as loud as the others. */
  readonly samples: Float32Array<ArrayBuffer>;
  /** The phones said, separated by spaces; "pau" is a pause. */
  readonly phones: string;
}

/** Computes one sentence, in the calling thread. Throws when the synthesiser fails; an empty text gives no samples. */
export function synthesiseWith(module: WebAssembly.Module, text: string, manner: Manner): Synthesised {
  if (!/[\p{L}\p{N}]/u.test(text)) return { samples: new Float32Array(0), phones: '' };
  const rate = manner.rate ?? 1;
  const pitch = manner.pitch === undefined ? [] : ['--setf', `int_f0_target_mean=${manner.pitch}`];
  const args = ['-voice', manner.voice, '--setf', `duration_stretch=${1 / rate}`, ...pitch];
  const files = { lexicon: new TextEncoder().encode(LEXICON_ADDITIONS) };
  const done = runProgram(module, [...args, '-add_lex', 'lexicon', '-ps', '-t', text, '-o', 'speech'], files);
  const speech = done.files.get('speech');
  if (done.exitCode !== 0 || speech === undefined) {
    throw new Error(`The built-in voice failed on "${text}" (exit ${done.exitCode}): ${done.printed.trim()}`);
  }
  return { samples: atSpeechLevel(trimSilence(atVoiceRate(parseWav(speech)))), phones: done.printed.trim() };
}

interface Wav {
  readonly samples: Float32Array<ArrayBuffer>;
  readonly rate: number;
}

/** Reads 16-bit mono PCM with the plain 44-byte header that the synthesiser writes. */
function parseWav(bytes: Uint8Array): Wav {
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  const header = 44;
  const samples = new Float32Array((bytes.length - header) >> 1);
  for (let i = 0; i < samples.length; i++) samples[i] = view.getInt16(header + 2 * i, true) / 32_768;
  return { samples, rate: view.getUint32(24, true) };
}

/** Doubles the one 8-kHz voice with a half-band filter; the others have VOICE_RATE already. */
function atVoiceRate({ samples, rate }: Wav): Float32Array<ArrayBuffer> {
  if (rate === VOICE_RATE) return samples;
  if (2 * rate !== VOICE_RATE) throw new Error(`Unexpected sample rate ${rate}`);
  const doubled = new Float32Array(2 * samples.length);
  for (let i = 0; i < samples.length; i++) {
    doubled[2 * i] = samples[i]!;
    let between = 0;
    for (let k = 0; k < HALF_BAND.length; k++) {
      between += HALF_BAND[k]! * ((samples[i - k] ?? 0) + (samples[i + 1 + k] ?? 0));
    }
    doubled[2 * i + 1] = between;
  }
  return doubled;
}

/** Weights of the samples at ½, 1½, 2½ … from a new one in between: sinc under a raised cosine, summing to ½. */
const HALF_BAND = (() => {
  const reach = 12;
  const weights = Array.from({ length: reach }, (_, k) => {
    const x = Math.PI * (k + 0.5);
    return (Math.sin(x) / x) * 0.5 * (1 + Math.cos(x / reach));
  });
  const sum = weights.reduce((a, b) => a + b);
  return weights.map((weight) => weight / (2 * sum));
})();

/** −54 dB below full scale: quieter than any speech of these voices. */
const SILENT = 0.002;
const KEEP_BEFORE = Math.round(0.01 * VOICE_RATE);
const KEEP_AFTER = Math.round(0.04 * VOICE_RATE);

/** Leading silence (0.2 s with some voices) would be delay, trailing silence would keep the ear closed too long. */
function trimSilence(samples: Float32Array<ArrayBuffer>): Float32Array<ArrayBuffer> {
  const first = samples.findIndex((sample) => Math.abs(sample) > SILENT);
  if (first < 0) return new Float32Array(0);
  const last = samples.findLastIndex((sample) => Math.abs(sample) > SILENT);
  return samples.slice(Math.max(0, first - KEEP_BEFORE), last + KEEP_AFTER);
}

const SPEECH_LEVEL = 0.12; // root mean square: −18 dB below full scale
const HIGHEST_PEAK = 0.95;

/** The voices differ by 12 dB; a change of voice must not turn the loudness down. */
function atSpeechLevel(samples: Float32Array<ArrayBuffer>): Float32Array<ArrayBuffer> {
  let energy = 0;
  let peak = 0;
  for (const sample of samples) {
    energy += sample * sample;
    peak = Math.max(peak, Math.abs(sample));
  }
  if (peak === 0) return samples;
  const gain = Math.min(SPEECH_LEVEL / Math.sqrt(energy / samples.length), HIGHEST_PEAK / peak);
  return samples.map((sample) => gain * sample);
}
