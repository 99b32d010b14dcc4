// Plays samples, and knows when they are really heard: the loudspeaker is later than the audio graph.
import { untilAborted, within } from './voice.ts';

/** Milliseconds between a sample's turn in the audio graph and its sound; a wireless headset makes it long. */
function delayToEar(context: AudioContext): number {
  return 1000 * (context.baseLatency + (context.outputLatency || 0));
}

/** Waits until the sound that is now in the graph has left the loudspeaker. */
export function untilHeard(context: AudioContext): Promise<void> {
  return new Promise((resolve) => setTimeout(resolve, delayToEar(context)));
}

/** Browsers keep sound asleep until the first touch, key or click. */
export async function wake(context: AudioContext): Promise<void> {
  if (context.state === 'running') return;
  await within(context.resume(), 1_000, 'Sound is not allowed yet: touch the screen or press a key once.');
}

const FADE = 0.005; // seconds: a cut without a click
const END_MARGIN = 2_000; // milliseconds after which a lost "ended" is taken for a dead sound device

export interface Playing {
  /** Samples per second. */
  readonly sampleRate: number;
  /** 0…1 */
  readonly volume: number;
  readonly signal: AbortSignal;
  readonly onFirstSound: (at: number) => void;
}

/** Resolves when the last sample has been heard, or, cut, when silence has. */
export async function play(
  context: AudioContext,
  samples: Float32Array<ArrayBuffer>,
  playing: Playing,
): Promise<void> {
  if (samples.length === 0) return;
  await untilAborted(wake(context), playing.signal);
  if (playing.signal.aborted) return;
  const buffer = context.createBuffer(1, samples.length, playing.sampleRate);
  buffer.copyToChannel(samples, 0);
  const source = new AudioBufferSourceNode(context, { buffer });
  const gain = new GainNode(context, { gain: playing.volume });
  source.connect(gain).connect(context.destination);

  const ended = new Promise<void>((resolve) =>
    source.addEventListener('ended', () => resolve(), { once: true }),
  );
  source.start();
  playing.onFirstSound(performance.now() + delayToEar(context));
  const limit = 1000 * buffer.duration + END_MARGIN;
  await untilAborted(within(ended, limit, 'The sound device has stopped.'), playing.signal);
  if (playing.signal.aborted) {
    gain.gain.setTargetAtTime(0, context.currentTime, FADE / 3);
    source.stop(context.currentTime + FADE);
  }
  await untilHeard(context);
  gain.disconnect();
}
