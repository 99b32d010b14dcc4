// What the strict ear takes, asks back and throws away.
import { describe, expect, it } from 'vitest';
import { clips, hush, lexicon, model, noise, phrases, sound } from '../../tests/hearing-clips.ts';
import { graphOf } from '../phrases/wordgraph.ts';
import type { AlignedWord } from './decoder.ts';
import { joined } from './joined.ts';
import { SAMPLE_RATE } from './recogniser.ts';
import { judge, StrictEar } from './strict.ts';

async function earFor(list: readonly string[]) {
  const ear = new StrictEar(model, lexicon);
  await ear.expect(graphOf(list));
  return ear;
}

const TRADE = phrases('trade');
const ear = await earFor(TRADE);

/** Seconds of one core that work takes: the least of several times, as what else the machine does only adds to it. */
async function coreSeconds(work: () => Promise<unknown>): Promise<number> {
  const taken: number[] = [];
  for (let times = 0; times < 12; times++) {
    const before = process.cpuUsage();
    await work();
    const { user, system } = process.cpuUsage(before);
    taken.push((user + system) / 1e6);
  }
  return Math.min(...taken);
}

const forPeople = await earFor(phrases('people'));
const heard = await Promise.all(
  clips('people').map(async ({ file, said }) => ({ said, heard: await forPeople.hear(sound(file)) })),
);

describe('phrases of the trade, spoken by four synthetic voices', () => {
  it.each(clips('trade').filter((clip) => clip.said))('"$said" is taken', async ({ file, said }) => {
    const heard = await ear.hear(sound(file));
    expect(heard).toMatchObject({ text: said, rejected: null });
    expect(heard.confidence).toBeGreaterThan(0.5);
    expect(heard.words.map((word) => word.word).join(' ')).toBe(said);
  });

  it.each(clips('trade').filter((clip) => !clip.said))(
    'the sentence in $file is unknown',
    async ({ file }) => {
      expect(await ear.hear(sound(file))).toMatchObject({ text: null, rejected: 'unknown', words: [] });
    },
  );

  it('take less than a tenth of one core while they are spoken', async () => {
    const sounds = clips('trade')
      .slice(0, 12)
      .map(({ file }) => sound(file));
    const seconds = sounds.reduce((sum, { length }) => sum + length / SAMPLE_RATE, 0);
    const taken = await coreSeconds(() => Promise.all(sounds.map((each) => ear.hear(each))));
    expect(taken / seconds).toBeLessThan(0.1);
    // Twelve runs: what counts is the computing, however long a busy machine takes for it.
  }, 180_000);

  it('are never rounded to the nearest when they are not in the list', async () => {
    for (const { file, said } of clips('trade')) {
      const without = await earFor(TRADE.filter((phrase) => phrase !== said));
      const heard = await without.hear(sound(file));
      expect(heard.rejected, `${said} heard as ${heard.text}`).not.toBeNull();
    }
  });
});

describe('single words of people', () => {
  it('are mostly taken and never wrongly', () => {
    const words = heard.filter(({ said }) => said);
    expect(words.filter(({ said, heard }) => heard.rejected === null && heard.text !== said)).toEqual([]);
    expect(words.filter(({ heard }) => heard.rejected === null).length).toBeGreaterThanOrEqual(12);
  });

  it('are not taken when they are in no list', () => {
    const foreign = heard.filter(({ said }) => !said);
    expect(foreign).toHaveLength(6);
    expect(foreign.map(({ heard }) => heard.rejected)).toEqual(foreign.map(() => 'unknown'));
  });
});

describe('sound without speech', () => {
  const next = noise(5);
  it.each([
    ['nothing at all', new Float32Array(0)],
    ['less than a frame', new Float32Array(300)],
    ['digital silence', new Float32Array(16_000)],
    ['a quiet room', hush(2)],
    ['loud hiss', Float32Array.from({ length: 32_000 }, () => 0.3 * next())],
    [
      'a hum',
      Float32Array.from({ length: 32_000 }, (_, i) => 0.3 * Math.sin((2 * Math.PI * 100 * i) / 16_000)),
    ],
    ['a clipped square wave', Float32Array.from({ length: 16_000 }, (_, i) => (i % 320 < 160 ? 1 : -1))],
  ])('is noise: %s', async (_, samples) => {
    const heard = await ear.hear(samples);
    expect(heard).toMatchObject({ text: null, rejected: 'noise', alternatives: [], words: [] });
    expect(heard.confidence).toBeGreaterThanOrEqual(0);
    expect(heard.confidence).toBeLessThanOrEqual(1);
  });
});

describe('a hearing', () => {
  it('survives clipping', async () => {
    const clipped = sound('trade/negative.wav').map((x) => Math.max(-1, Math.min(1, 8 * x)));
    expect(await ear.hear(clipped)).toMatchObject({ text: 'negative', rejected: null });
  });

  it('says where in the sound the speech lies', async () => {
    const speech = sound('trade/affirm.wav');
    const { from, to } = await ear.hear(joined(hush(1), speech, hush(1)));
    expect(from).toBeGreaterThan(16_000 - 1600);
    expect(to).toBeGreaterThan(from);
    expect(to).toBeLessThan(16_000 + speech.length + 1600);
  });

  it('is the same whatever was heard before', async () => {
    const first = await ear.hear(sound('trade/go-back.wav'));
    await ear.hear(sound('trade/affirm.wav'));
    expect({ ...(await ear.hear(sound('trade/go-back.wav'))), ms: 0 }).toEqual({ ...first, ms: 0 });
  });

  it('refuses a list with words that cannot be pronounced, and keeps the old one', async () => {
    await expect(ear.expect(graphOf(['seven qwxz']))).rejects.toThrow('"qwxz"');
    expect(await ear.hear(sound('trade/affirm.wav'))).toMatchObject({ text: 'affirm' });
  });

  it('knows nothing before it was told what may be said', async () => {
    const ear = new StrictEar(model, lexicon);
    expect(await ear.hear(sound('trade/affirm.wav'))).toMatchObject({ text: null, rejected: 'unknown' });
  });

  it('takes a sentence of a hundred thousand as it takes one of forty', async () => {
    const numbers = 'one two three four five six seven eight nine ten eleven twelve'.split(' ');
    const slots = [
      ['intake', 'exhaust'],
      numbers,
      numbers,
      ['thou'],
      ['drag', 'light', 'loose'],
      ['okay', 'tight'],
      numbers,
      ['left', 'right'],
    ];
    const arcs = slots.flatMap((words, i) => words.map((word) => ({ from: i, to: i + 1, word })));
    const ear = new StrictEar(model, lexicon);
    await ear.expect({ states: 9, arcs, finals: [6, 8] });
    expect(await ear.hear(sound('trade/intake-two-seven-thou-drag-okay.wav'))).toMatchObject({
      text: 'intake two seven thou drag okay',
      rejected: null,
    });
  });
});

describe('the verdict', () => {
  const word = (word: string, phones: number, cost: number): AlignedWord => ({
    word,
    phones,
    cost,
    from: 0,
    to: 1,
  });
  const verdict = (phones: number, cost: number, lead = 20) =>
    judge(
      [
        { words: ['said'], cost },
        { words: ['other'], cost: cost + lead },
      ],
      [word('said', phones, cost)],
      phones,
    );

  it('takes, asks or refuses by the loss per phone', () => {
    expect(verdict(10, 12).rejected).toBeNull();
    expect(verdict(10, 20)).toMatchObject({ text: 'said', rejected: 'unsure' });
    expect(verdict(10, 30)).toMatchObject({ text: null, rejected: 'unknown' });
  });

  it('is stricter with short words', () => {
    expect(verdict(6, 6 * 1.2).rejected).toBeNull();
    expect(verdict(2, 2 * 1.0).rejected).toBe('unsure');
    expect(verdict(2, 2 * 1.2).text).toBeNull();
    expect(verdict(1, 1.2).text).toBeNull();
  });

  it('asks where two sentences are nearly as likely', () => {
    expect(verdict(6, 1, 2)).toMatchObject({ text: 'said', rejected: 'unsure' });
    expect(verdict(6, 1, 3)).toMatchObject({ rejected: 'unsure' });
    expect(verdict(6, 1, 5)).toMatchObject({ rejected: null, alternatives: [{ text: 'other' }] });
  });

  it('asks where one word of a long sentence was another', () => {
    const words = [word('exhaust', 20, 0), word('said', 3, 18)];
    expect(judge([{ words: ['exhaust', 'said'], cost: 18 }], words, 20)).toMatchObject({
      text: 'exhaust said',
      rejected: 'unsure',
    });
  });

  it('is the surer the better the fit and the clearer the lead', () => {
    const falling = (values: number[]) =>
      values.every((x, i) => x >= 0 && x <= 1 && (i === 0 || x < values[i - 1]!));
    expect(falling([0, 2, 5, 9, 15, 25].map((cost) => verdict(6, cost).confidence))).toBe(true);
    expect(falling([9, 5, 3, 2, 1, 0].map((lead) => verdict(6, 1, lead).confidence))).toBe(true);
  });

  it('doubts the word in which the sentences differ', () => {
    const { words } = judge(
      [
        { words: ['intake', 'five'], cost: 1 },
        { words: ['intake', 'nine'], cost: 2 },
      ],
      [word('intake', 5, 0.5), word('five', 3, 0.5)],
      8,
    );
    expect(words[0]!.confidence).toBeGreaterThan(0.9);
    expect(words[1]!.confidence).toBeLessThan(0.8);
  });
});
