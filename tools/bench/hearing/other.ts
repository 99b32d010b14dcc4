// The sets in which nothing of the lists is said: other words, talk that goes on, impacts, and noise alone.
import { joined } from '../../../src/hearing/joined.ts';
import { SAMPLE_RATE } from '../../../src/hearing/recogniser.ts';
import { type List, typicalLists } from './lists.ts';
import { inHalf, recordings, soundsOf } from './recordings.ts';
import { chance, numberOf, some } from './statistics.ts';
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

/** Root mean square of the dishes, and the first peak of a spanner, dB below full scale; the last of each clips. */
const DISHES = [-50, -35, -20, -8];
const PEAKS = [-30, 0, 12];
const DROPS_A_SECOND = [1, 2, 4];
const MINUTE = 60;

/** Dishes, and spanners dropped in a quiet room: how often the listener begins an utterance for it, and what it ends as. */
export async function* impacts({ half, count }: Wanted): AsyncGenerator<Trial> {
  const lists = typicalLists();
  const dishes = joined(...(await stretches('dishes', half)).map(({ sound }) => sound));
  const all = [
    ...DISHES.map((level) => ({ noise: `dishes, ${level} dBFS`, sound: () => atLevel(dishes, level) })),
    ...DROPS_A_SECOND.flatMap((rate) =>
      PEAKS.map((peak) => ({
        noise: `${rate} spanners a second, peak ${peak} dBFS`,
        sound: () => spanners(MINUTE, rate, peak),
      })),
    ),
  ];
  for (const { noise, sound } of some(all, (each) => each.noise, count))
    yield {
      set: `impacts, through the listener, against each of ${lists.length} lists`,
      by: 'machine',
      noise,
      speaker: 'machine',
      said: '',
      lists,
      sound: sound(),
      noisy: true,
      talk: true,
    };
}

const clipped = (sound: Float32Array) => sound.map((x) => Math.max(-1, Math.min(1, x)));

/** Sound at a root mean square (dBFS). */
function atLevel(sound: Float32Array, level: number): Float32Array {
  const power = sound.reduce((sum, x) => sum + x * x, 0) / sound.length;
  const gain = Math.sqrt(10 ** (level / 10) / Math.max(power, 1e-12));
  return clipped(sound.map((x) => gain * x));
}

/** Drops by chance, each a knock of some milliseconds with eight modes (600–7,200 Hz) that ring, and up to three bounces. */
function spanners(seconds: number, perSecond: number, peak: number): Float32Array {
  const next = chance(`drops ${perSecond} ${peak}`);
  const sound = hush(seconds * SAMPLE_RATE, `drops ${perSecond} ${peak}`);
  for (let at = 1; at < seconds - 1; at += -Math.log(1 - 0.999 * next()) / perSecond) {
    const bounces = Math.floor(4 * next());
    const modes = Array.from({ length: 8 }, () => ({
      hz: 600 * 12 ** next(),
      fall: 0.01 * 15 ** next(),
      phase: 2 * Math.PI * next(),
      share: next(),
    }));
    const shares = modes.reduce((sum, { share }) => sum + share, 0);
    let time = at;
    let gain = 10 ** (peak / 20);
    let pause = 0.08 + 0.17 * next();
    for (let bounce = 0; bounce <= bounces; bounce++) {
      const from = Math.round(time * SAMPLE_RATE);
      for (let i = 0; i < 0.8 * SAMPLE_RATE && from + i < sound.length; i++) {
        const t = i / SAMPLE_RATE;
        let x = 0.7 * Math.exp(-t / 0.003) * (2 * next() - 1);
        for (const { hz, fall, phase, share } of modes)
          x += ((1.5 * share) / shares) * Math.exp(-t / fall) * Math.sin(2 * Math.PI * hz * t + phase);
        sound[from + i]! += gain * x;
      }
      time += pause;
      pause *= 0.6;
      gain *= 0.5;
    }
  }
  return clipped(sound);
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
      yield {
        set: `noise alone, pieces of 2 s at ${LEVELS.join(', ')} dBFS, against each of ${lists.length} lists`,
        by: 'machine',
        noise: name,
        speaker: name,
        said: '',
        lists: turned(lists, key),
        sound: atLevel(piece, level),
        noisy: true,
      };
    }
  }
}
