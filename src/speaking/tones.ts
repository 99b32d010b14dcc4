// Short tones that tell a mechanic what happened without words. Each has its own shape of melody, as pitch alone is
// lost on a small loudspeaker and on ears that have worked among engines.
import { untilHeard, wake } from './playback.ts';

export interface Note {
  /** Hertz at the start and at the end: a glide where they differ. */
  readonly from: number;
  readonly to: number;
  /** Milliseconds. */
  readonly length: number;
}

const steady = (hertz: number, length: number): Note => ({ from: hertz, to: hertz, length });

export const TONES = {
  /** Entered: a step up. */
  taken: [steady(660, 60), steady(990, 90)],
  /** Not entered: one long fall. */
  refused: [{ from: 520, to: 260, length: 170 }],
  /** A yes or no is wanted: down, then up, as a voice that asks. */
  asked: [steady(880, 50), steady(660, 50), { from: 660, to: 1_100, length: 80 }],
  /** The ear is open: one even beep. */
  listening: [steady(780, 70)],
} as const satisfies Record<string, readonly Note[]>;

export type Tone = keyof typeof TONES;

const EDGE = 0.006; // seconds of fade at both ends of a note, against clicks
const LOUDNESS = 0.3; // beside speech at full volume

/** Resolves when the tone has been heard. @param volume 0…1 */
export async function playTone(context: AudioContext, tone: Tone, volume: number): Promise<void> {
  await wake(context);
  const oscillator = new OscillatorNode(context, { type: 'triangle' });
  const gain = new GainNode(context, { gain: 0 });
  oscillator.connect(gain).connect(context.destination);
  const ended = new Promise<void>((resolve) =>
    oscillator.addEventListener('ended', () => resolve(), { once: true }),
  );

  const start = context.currentTime;
  let at = start;
  for (const note of TONES[tone]) {
    scheduleNote(oscillator.frequency, gain.gain, note, at, LOUDNESS * volume);
    at += note.length / 1000;
  }
  oscillator.start(start);
  oscillator.stop(at);
  await ended;
  await untilHeard(context);
  gain.disconnect();
}

/** @param at seconds of the context's clock */
function scheduleNote(frequency: AudioParam, gain: AudioParam, note: Note, at: number, level: number): void {
  const end = at + note.length / 1000;
  frequency.setValueAtTime(note.from, at);
  frequency.exponentialRampToValueAtTime(note.to, end);
  gain.setValueAtTime(0, at);
  gain.linearRampToValueAtTime(level, at + EDGE);
  gain.setValueAtTime(level, end - EDGE);
  gain.linearRampToValueAtTime(0, end);
}
