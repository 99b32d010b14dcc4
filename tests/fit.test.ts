// The speaker fit on real sound: built-in voices say the five phrases, and the strict ear is fitted to them.
import { describe, expect, it } from 'vitest';
import { fitOf, MOST, type Study, unusable } from '../src/hearing/fit.ts';
import { joined } from '../src/hearing/joined.ts';
import { acceptedLoss, CLEAR_LEAD, StrictEar } from '../src/hearing/strict.ts';
import { FIT_PHRASES } from '../src/phrases/fitting.ts';
import { meaningOf } from '../src/phrases/grammar.ts';
import { vocabulary } from '../src/phrases/vocabulary.ts';
import { graphOf } from '../src/phrases/wordgraph.ts';
import { goingOn } from '../src/procedure/fold.ts';
import { demoSheets } from '../src/trade/demos.ts';
import { festivalVoices, sayWithFestival } from '../tools/bench/festival.ts';
import { everyState } from '../tools/plan.ts';
import { synthesise } from '../tools/speak.ts';
import { hush, model, noise, shippedLexicon } from './hearing-clips.ts';

const ear = new StrictEar(model, shippedLexicon);

/** A phrase in a quiet room, by a voice that the ear was never trained with. */
const spoken = async (text: string) => joined(hush(0.4), await synthesise(text, { voice: 'slt' }), hush(0.4));
const sounds = await Promise.all(FIT_PHRASES.map(spoken));
const studied = (change: (x: number, i: number) => number): Study[] =>
  FIT_PHRASES.map((phrase, k) => ear.study(sounds[k]!.map(change), phrase));
const clear = studied((x) => x);

describe('the five phrases', () => {
  it('may all be said at some step of an engine that comes with the app', () => {
    const moments = demoSheets.flatMap((sheet) => [...everyState(sheet).values()]);
    for (const phrase of FIT_PHRASES)
      expect(
        moments.some((moment) => meaningOf(vocabulary(moment.context, goingOn(moment)), phrase)),
        phrase,
      ).toBe(true);
  });
  it('have sixteen words of several pronunciations and every digit but the eight', () => {
    const words = new Set(FIT_PHRASES.flatMap((phrase) => phrase.split(' ')));
    expect([...words].filter((word) => shippedLexicon.get(word)!.length > 1)).toHaveLength(16);
    const digits = 'zero one two three four five six seven niner'.split(' ');
    expect(digits.filter((digit) => !words.has(digit))).toEqual([]);
  });
});

describe('a clear voice', () => {
  const fit = fitOf(clear);
  it('has every phrase heard, and is accepted as without a fit', () => {
    expect(clear.map(unusable)).toEqual(clear.map(() => null));
    expect(fit?.accepts).toBe(1);
  });
  it('is known to say "thou" as in "thousand", with its own "r" and "t"', () => {
    expect(fit?.says).toMatchObject({
      thou: 'TH AW',
      four: 'F AO R',
      forty: 'F AO R T IY',
      zero: 'Z IH R OW',
    });
    for (const [word, way] of Object.entries(fit!.says)) expect(shippedLexicon.get(word)).toContain(way);
  });
  it('is heard as before, and by the thresholds that are told', async () => {
    const fitted = new StrictEar(model, shippedLexicon);
    const plain = acceptedLoss(Number.POSITIVE_INFINITY);
    expect(fitted.fit(fit)).toEqual({ loss: plain, lead: CLEAR_LEAD });
    await fitted.expect(graphOf(FIT_PHRASES));
    for (const [k, phrase] of FIT_PHRASES.entries())
      expect(await fitted.hear(sounds[k]!)).toMatchObject({ text: phrase, rejected: null });
    // What came from elsewhere opens the ear no further, and does not break it.
    expect(fitted.fit({ accepts: 9, says: { four: 'Q Q' } }).loss).toBeCloseTo(MOST * plain);
    expect(await fitted.hear(sounds[0]!)).toMatchObject({ text: FIT_PHRASES[0], rejected: null });
  });
});

describe('what is no voice', () => {
  it('is told apart: another phrase, a distant microphone, a scale that ends, a machine beside it', () => {
    expect(unusable(ear.study(sounds[1]!, FIT_PHRASES[0]))).toBe('unheard');
    expect(unusable(ear.study(hush(2), FIT_PHRASES[0]))).not.toBeNull();
    expect(unusable(ear.study(new Float32Array(0), FIT_PHRASES[0]))).not.toBeNull();
    expect(studied((x) => x / 300).map(unusable)).toEqual(FIT_PHRASES.map(() => 'quiet'));
    expect(studied((x) => Math.max(-1, Math.min(1, 20 * x))).map(unusable)).toEqual(
      FIT_PHRASES.map(() => 'clipped'),
    );
    const next = noise(3);
    expect(studied((x) => 0.6 * x + 0.05 * next()).map(unusable)).toEqual(FIT_PHRASES.map(() => 'noisy'));
  });
  it('gives no fit', () => expect(fitOf(studied((x) => x / 300))).toBeNull());
});

const strict = festivalVoices().includes('ked_diphone');
it.skipIf(!strict)('another voice (festival ked, where it is installed) is fitted as well', () => {
  const say = sayWithFestival('ked_diphone', FIT_PHRASES);
  const studies = FIT_PHRASES.map((phrase) => ear.study(joined(hush(0.4), say(phrase), hush(0.4)), phrase));
  expect(fitOf(studies)).toMatchObject({ accepts: 1, says: { thou: 'TH AW', thirty: 'TH ER D IY' } });
});
