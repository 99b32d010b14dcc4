// The sets in which nothing of the lists is said: other words, talk that goes on, and noise alone.
import { joined } from '../../../src/hearing/joined.ts';
import { SAMPLE_RATE } from '../../../src/hearing/recogniser.ts';
import { type List, typicalLists } from './lists.ts';
import { inHalf, recordings, soundsOf } from './recordings.ts';
import { numberOf, some } from './statistics.ts';
import { crowd, hush, keyOf, nameOf, stretches, type Trial, under, type Wanted, words } from './trial.ts';

/** Begins with another list each time, for an ear that is tried on the first only. */
const turned = (lists: readonly List[], key: string): List[] => {
  const at = numberOf(key) % lists.length;
  return [...lists.slice(at), ...lists.slice(0, at)];
};

/** Words of people that no list has, against each of a dozen states' lists. */
export async function* otherWords({ half, count }: Wanted): AsyncGenerator<Trial> {
  const lists = typicalLists();
  const inLists = new Set(lists.flatMap(({ graph }) => graph.arcs.map(({ word }) => word)));
  const every = words(half).filter(({ text }) => !inLists.has(text));
  const all = some(every, keyOf, count);
  const by = crowd(all);
  const set = `other words (${[...new Set(every.map(({ text }) => text))].sort().join(', ')}), against each of ${lists.length} lists`;
  for await (const { recording, sound } of soundsOf(all))
    for (const condition of [null, { noise: 'bike', snr: 5 }] as const)
      yield {
        set,
        by,
        noise: nameOf(condition),
        speaker: recording.speaker,
        said: '',
        lists: turned(lists, keyOf(recording)),
        sound: await under(condition, sound, half, keyOf(recording)),
        noisy: condition !== null,
      };
}

/** Recordings joined to one stretch of talk. */
const JOINED = 8;

/** Someone reads on and on. */
export async function* talk({ half, count }: Wanted): AsyncGenerator<Trial> {
  const lists = typicalLists();
  const all = inHalf(recordings(), half).filter(({ set }) => set === 'librispeech_tc5');
  const set = `read talk that goes on, through the listener, against each of ${lists.length} lists`;
  let held: Float32Array[] = [];
  let heldOf = 0;
  for await (const { recording, sound } of soundsOf(all.slice(0, count))) {
    held.push(sound);
    heldOf++;
    if (held.length < JOINED && heldOf < Math.min(count, all.length)) continue;
    const { speaker } = recording;
    // Quiet at both ends, so that the listener hears where it begins and ends.
    const whole = joined(
      hush(SAMPLE_RATE, `${speaker} ${heldOf}`),
      ...held,
      hush(2 * SAMPLE_RATE, `${speaker} ${heldOf}`),
    );
    held = [];
    yield {
      set,
      by: `reader ${speaker}`,
      noise: 'quiet',
      speaker,
      said: '',
      lists,
      sound: whole,
      noisy: false,
      talk: true,
    };
  }
}

const PIECE = 2 * SAMPLE_RATE;
const HOP = 0.25 * SAMPLE_RATE;
/** Root mean square of a piece, dB below full scale. */
const LEVELS = [-50, -35, -20];

/** Noise alone, in pieces that overlap, at several levels. */
export async function* noiseAlone({ half, count }: Wanted): AsyncGenerator<Trial> {
  const lists = typicalLists();
  for (const name of ['bike', 'dishes'] as const) {
    const pieces = (await stretches(name, half)).flatMap(({ name: from, sound }) =>
      Array.from({ length: 1 + (sound.length - PIECE) / HOP }, (_, k) => ({
        key: `${from} ${k}`,
        piece: sound.subarray(k * HOP, k * HOP + PIECE),
      })),
    );
    const all = pieces.flatMap(({ key, piece }) =>
      LEVELS.map((level) => ({ key: `${key} ${level}`, piece, level })),
    );
    for (const { key, piece, level } of some(all, (each) => each.key, count)) {
      const power = piece.reduce((sum, x) => sum + x * x, 0) / piece.length;
      const gain = Math.sqrt(10 ** (level / 10) / Math.max(power, 1e-12));
      yield {
        set: `noise alone, pieces of 2 s at ${LEVELS.join(', ')} dBFS, against each of ${lists.length} lists`,
        by: 'machine',
        noise: name,
        speaker: name,
        said: '',
        lists: turned(lists, key),
        sound: piece.map((x) => Math.max(-1, Math.min(1, gain * x))),
        noisy: true,
      };
    }
  }
}
