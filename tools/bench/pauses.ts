// How long people are quiet between two words, by the listener's own rule: the table of docs/hearing.md, "Waits". Needs the
// recordings beside the repository; nothing is recognised, so people of the training serve too.
// Usage: npx tsx tools/bench/pauses.ts [COUNT]   of each set of recordings at most so many
import { readFileSync } from 'node:fs';
import { OggOpusDecoder } from 'ogg-opus-decoder';
import { type AlignedWord, align } from '../../src/hearing/decoder.ts';
import { FRAME, HOP, logMel, MEL_BINS } from '../../src/hearing/features.ts';
import { phoneGraph } from '../../src/hearing/graph.ts';
import { joined } from '../../src/hearing/joined.ts';
import { Background, isLoud, STANDS_OUT } from '../../src/hearing/listener.ts';
import { NetworkStream, readModel } from '../../src/hearing/network.ts';
import { SAMPLE_RATE } from '../../src/hearing/recogniser.ts';
import { StrictEar } from '../../src/hearing/strict.ts';
import { graphOf } from '../../src/phrases/wordgraph.ts';
import { fullLexicon } from '../lexicon.ts';
import { isNumberWord } from './hearing/lists.ts';
import { type Recording, recordings } from './hearing/recordings.ts';
import { markdown } from './hearing/report.ts';
import { some, wilson } from './hearing/statistics.ts';

const SPEECH = new URL('../../../shared/data/speech/', import.meta.url);
const MODEL = new URL('../../models/ear.safetensors', import.meta.url);
const count = Number(process.argv[2] ?? Number.POSITIVE_INFINITY);

/** Frames of 10 ms. */
const LONGER = [15, 24, 30, 36, 48, 60];

const TENS = /^(twen|thir|for|fif|six|seven|eigh|nine)ty$/;
const ONES = /^(one|two|three|four|five|six|seven|eight|nine)$/;
const isDigit = (word: string) => ONES.test(word) || word === 'zero' || word === 'oh';
const KINDS: readonly [string, (before: string, after: string) => boolean][] = [
  ['tens and ones: “twenty five”', (before, after) => TENS.test(before) && ONES.test(after)],
  ['digit and digit: “one eight”', (before, after) => isDigit(before) && isDigit(after)],
  [
    'an order and its number: “enter five”',
    (before, after) => before.length > 1 && !isNumberWord(before) && isNumberWord(after),
  ],
  ['all gaps of numbers, spelt names, dates and orders', () => true],
];

const model = readModel(new Uint8Array(readFileSync(MODEL)).buffer);
const lexicon = fullLexicon();
const ear = new StrictEar(model, lexicon);

/** So much of the quietest 0.2 s of a recording, forth and back. */
function roomOf(sound: Float32Array, seconds: number): Float32Array {
  const size = 0.2 * SAMPLE_RATE;
  let quietest = 0;
  let least = Infinity;
  for (let at = 0; at + size <= sound.length; at += HOP) {
    const energy = sound.subarray(at, at + size).reduce((sum, x) => sum + x * x, 0);
    if (energy < least) [quietest, least] = [at, energy];
  }
  return Float32Array.from({ length: seconds * SAMPLE_RATE }, (_, i) => {
    const k = i % (2 * size);
    return sound[quietest + (k < size ? k : 2 * size - 1 - k)] ?? 0;
  });
}

interface Stretch {
  /** The middle of it, and its length (frames). */
  readonly at: number;
  readonly length: number;
}

/** The quiet stretches between the first and the last sign of speech. */
function stretches(features: Float32Array, start: number): Stretch[] {
  const frame = (at: number) => features.subarray(at * MEL_BINS, (at + 1) * MEL_BINS);
  const background = new Background();
  for (let at = 0; at < start; at++) background.learn(frame(at), background.above(frame(at)) > STANDS_OUT);
  const following = ear.follow();
  const found: Stretch[] = [];
  let loudest = 0;
  let last = -1;
  let longest: Stretch = { at: 0, length: 0 };
  for (let at = start; at < features.length / MEL_BINS; at++) {
    if ((at + 1 - start) % following.stride === 0)
      following.push(features.subarray((at + 1 - following.stride) * MEL_BINS, (at + 1) * MEL_BINS));
    const above = background.above(frame(at));
    loudest = Math.max(loudest, above);
    if (isLoud(above, loudest)) {
      if (longest.length > 0) found.push(longest);
      longest = { at: 0, length: 0 };
      last = at + 1;
    }
    if (following.lastPhone >= 0) last = Math.max(last, start + following.lastPhone);
    const quiet = at + 1 - last;
    if (last >= 0 && quiet > longest.length) longest = { at: at + 1 - quiet / 2, length: quiet };
  }
  return found;
}

/** Where the words lie (frames); undefined where one has no pronunciation or the sound is too short. */
function wordsIn(features: Float32Array, start: number, text: string): readonly AlignedWord[] | undefined {
  if (!text.split(' ').every((word) => lexicon.has(word))) return undefined;
  const stream = new NetworkStream(model);
  const posteriors = joined(stream.push(features.slice(start * MEL_BINS)), stream.tail());
  const found = align(phoneGraph(graphOf([text]), lexicon, model.units), posteriors, model.units.length);
  const frames = (output: number) => start + output * model.stride;
  return found?.words.map((word) => ({ ...word, from: frames(word.from), to: frames(word.to) }));
}

/** The longest quiet before each word but the first; a stop's closure within a word is none. */
function gapsOf(words: readonly AlignedWord[], quiet: readonly Stretch[]): number[] {
  const [first] = words;
  if (!first) return [];
  return words.slice(1).map((word, k) => {
    const before = quiet.filter(({ at }) => at >= words[k]!.to - model.stride && at < word.from);
    return Math.max(0, ...before.map(({ length }) => length));
  });
}

interface Gap {
  readonly before: string;
  readonly after: string;
  readonly length: number;
}
const an4: Gap[] = [];
const people = new Set<string>();
const read = { people: new Set<string>(), gaps: 0, lengths: [] as number[] };

function take({ set, text, speaker }: Recording, sound: Float32Array): void {
  const room = roomOf(sound, 1);
  const features = logMel(joined(room, sound, room));
  const start = Math.round((room.length - FRAME) / HOP);
  const quiet = stretches(features, start);
  const words = text.split(' ');
  if (set !== 'an4') {
    read.people.add(speaker);
    read.gaps += words.length - 1;
    read.lengths.push(...quiet.map(({ length }) => length));
    return;
  }
  const aligned = wordsIn(features, start, text);
  if (!aligned) return;
  people.add(speaker);
  gapsOf(aligned, quiet).forEach((length, k) => {
    an4.push({ before: words[k]!, after: words[k + 1]!, length });
  });
}

const wanted = ['an4', 'librispeech_tc5'].flatMap((name) =>
  some(
    recordings().filter(({ set }) => set === name),
    ({ file, start }) => `${file} ${start}`,
    count,
  ),
);
for (const file of new Set(wanted.map((recording) => recording.file))) {
  const decoder = new OggOpusDecoder({ sampleRate: SAMPLE_RATE } as object);
  await decoder.ready;
  const { channelData } = await decoder.decodeFile(readFileSync(new URL(file, SPEECH)));
  decoder.free();
  for (const recording of wanted.filter((each) => each.file === file)) {
    const from = Math.round(recording.start * SAMPLE_RATE);
    take(recording, channelData[0]!.slice(from, from + Math.round(recording.seconds * SAMPLE_RATE)));
  }
}

function row(name: string, who: ReadonlySet<string>, gaps: number, lengths: readonly number[]): string[] {
  const shares = LONGER.map((least) => {
    const hits = lengths.filter((length) => length >= least).length;
    const percent = [hits / gaps, ...wilson(hits, gaps)].map((share) => (100 * share).toFixed(1));
    return `${percent[0]} (${percent[1]}–${percent[2]})`;
  });
  return [name, String(who.size), String(gaps), ...shares];
}

const rows = KINDS.map(([name, has]) => {
  const gaps = an4.filter(({ before, after }) => has(before, after));
  return row(
    name,
    people,
    gaps.length,
    gaps.map(({ length }) => length),
  );
});
console.log(
  `${new Date().toISOString().slice(0, 10)}, ${wanted.length} recordings; % of the gaps, 95 % intervals\n`,
);
console.log(
  markdown(
    [
      'quiet between two words',
      'people',
      'gaps',
      ...LONGER.map((frames) => `≥ ${(frames / 100).toFixed(2)} s`),
    ],
    [...rows, row('read sentences', read.people, read.gaps, read.lengths)],
  ),
);
