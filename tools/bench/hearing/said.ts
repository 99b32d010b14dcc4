// The sets in which something of the lists is said: the trade's phrases by voices, and people's words and numbers.
import { countSentences } from '../../../src/phrases/wordgraph.ts';
import { synthesise } from '../../speak.ts';
import { festivalVoices, sayWithFestival } from '../festival.ts';
import { cutWords } from './cut.ts';
import {
  anySentences,
  closedList,
  differentLists,
  isNumberWord,
  type List,
  sentencesFrom,
  widestLists,
} from './lists.ts';
import { haveRecordings, inHalf, type Recording, recordings, soundsOf } from './recordings.ts';
import { type Half, halfOf, some } from './statistics.ts';
import { crowd, keyOf, nameOf, QUIET_AND_NOISY, type Trial, under, type Wanted, words } from './trial.ts';

const VOICES = 'flite slt; festival cmu_us_slt_arctic_hts, ked_diphone';
/** Festival's kal is the same man as flite's kal16, who was trained on. */
const UNSEEN = ['cmu_us_slt_arctic_hts', 'ked_diphone'];

/** Sentences with their lists, by every voice in every condition. */
async function* spoken(
  set: string,
  what: readonly { said: string; list: List }[],
  half: Half,
): AsyncGenerator<Trial> {
  const voices = new Map([['flite slt', (text: string) => synthesise(text, { voice: 'slt' })]]);
  for (const voice of festivalVoices().filter((name) => UNSEEN.includes(name))) {
    const say = sayWithFestival(voice, [...new Set(what.map(({ said }) => said))]);
    voices.set(`festival ${voice}`, async (text) => say(text) as Float32Array<ArrayBuffer>);
  }
  const by = voices.size === 3 ? VOICES : [...voices.keys()].join(', ');
  for (const { said, list } of what)
    for (const [speaker, say] of voices) {
      const speech = await say(said);
      for (const condition of haveRecordings() ? QUIET_AND_NOISY : [null]) {
        const sound = await under(condition, speech, half, `${speaker} ${said}`);
        yield {
          set,
          by,
          noise: nameOf(condition),
          speaker,
          said,
          lists: [list],
          sound,
          noisy: condition !== null,
        };
      }
    }
}

/** Sentences of each list, and how many lists may have the same one. */
const OF_EACH_LIST = 12;
const OFTEN = 3;

export function trade({ half, count }: Wanted): AsyncGenerator<Trial> {
  const times = new Map<string, number>();
  const what = differentLists().flatMap((list) =>
    sentencesFrom(list, OF_EACH_LIST).flatMap((said) => {
      const before = times.get(said) ?? 0;
      times.set(said, before + 1);
      return halfOf(said) === half && before < OFTEN ? [{ said, list }] : [];
    }),
  );
  return spoken(
    'trade phrases, each against the list of its state',
    some(what, ({ said, list }) => `${said} ${list.name}`, count),
    half,
  );
}

const WIDE_OF_EACH = 400;

export function wide({ half, count }: Wanted): AsyncGenerator<Trial> {
  const what = widestLists().flatMap((list) =>
    anySentences(list, WIDE_OF_EACH)
      .filter((said) => halfOf(said) === half)
      .map((said) => ({ said, list })),
  );
  const sizes = widestLists().map(({ graph }) => countSentences(graph).toLocaleString('en'));
  return spoken(
    `any valve, any number, any ending (lists of ${sizes.join(' and ')} sentences)`,
    some(what, ({ said }) => said, count),
    half,
  );
}

const TEN = 'yes no up down left right on off stop go'.split(' ');
const DIGITS = 'zero one two three four five six seven eight nine'.split(' ');

/** Any words of some sentences in any order, up to as many as the longest has. */
function freeStrings(sentences: readonly string[]): List {
  const words = [...new Set(sentences.flatMap((sentence) => sentence.split(' ')))];
  const longest = Math.max(...sentences.map((sentence) => sentence.split(' ').length));
  const arcs = Array.from({ length: longest }, (_, from) =>
    words.map((word) => ({ from, to: from + 1, word })),
  ).flat();
  const finals = Array.from({ length: longest }, (_, k) => k + 1);
  return {
    name: 'free numbers',
    graph: { states: longest + 1, arcs, finals },
    meaning: (sentence) => sentence,
  };
}

export async function* people({ half, count }: Wanted): AsyncGenerator<Trial> {
  const single = words(half);
  const strings = recordings().filter(
    ({ set, text }) => set === 'an4' && text.split(' ').every((word) => isNumberWord(word) || word === 'and'),
  );
  const numbers = [...new Set(strings.map(({ text }) => text))].sort();
  const groups: [string, List, Recording[]][] = [
    ['people: ten command words', closedList('ten', TEN), single.filter(({ text }) => TEN.includes(text))],
    [
      'people: single digits',
      closedList('digits', DIGITS),
      single.filter(({ text }) => DIGITS.includes(text)),
    ],
    [
      `people: number strings, list of ${numbers.length}`,
      closedList('numbers', numbers),
      inHalf(strings, half),
    ],
    ['people: number strings, free', freeStrings(numbers), inHalf(strings, half)],
  ];
  for (const [set, list, every] of groups) {
    const all = some(every, keyOf, count);
    for await (const { recording, sound } of soundsOf(all))
      yield* byPerson(
        { set, by: crowd(all), speaker: recording.speaker, said: recording.text, list },
        sound,
        half,
        keyOf(recording),
      );
  }
}

/** Digits cut out of all that people of AN4 said. */
export async function* cutDigits({ half, count }: Wanted): AsyncGenerator<Trial> {
  const list = closedList('digits', DIGITS);
  const every = inHalf(recordings(), half).filter(
    ({ set, text }) => set === 'an4' && text.split(' ').some((word) => DIGITS.includes(word)),
  );
  const all = some(every, keyOf, count);
  for await (const { recording, sound } of soundsOf(all))
    for (const [k, { word, sound: cut }] of cutWords(sound, recording.text).entries())
      if (DIGITS.includes(word))
        yield* byPerson(
          {
            set: 'people: digits cut from what they say',
            by: crowd(all),
            speaker: recording.speaker,
            said: word,
            list,
          },
          cut,
          half,
          `${keyOf(recording)} ${k}`,
        );
}

/** What a person said, as it was recorded and with noise. */
async function* byPerson(
  { list, ...who }: Pick<Trial, 'set' | 'by' | 'speaker' | 'said'> & { list: List },
  speech: Float32Array,
  half: Half,
  key: string,
): AsyncGenerator<Trial> {
  for (const condition of [null, { noise: 'bike', snr: 10 }] as const) {
    const sound = await under(condition, speech, half, key);
    yield { ...who, noise: nameOf(condition), lists: [list], sound, noisy: condition !== null };
  }
}
