// What five phrases may change of the ear, and what they may not.
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  afterPhrase,
  beginFitting,
  fitOf,
  loudnessOf,
  MOST,
  phraseDue,
  repeatPhrase,
  type Study,
  skipPhrase,
  unusable,
} from './fit.ts';
import { acceptedLoss, CLEAR_LEAD, judge } from './strict.ts';

const study = (loss: number, more: Partial<Study> = {}): Study => ({
  said: true,
  loss,
  loudness: { speech: -25, background: -70, clipped: 0 },
  ways: {},
  ...more,
});
const loud = (loudness: Partial<Study['loudness']>) =>
  study(0.2, { loudness: { ...study(0).loudness, ...loudness } });
const unheard = study(0.2, { said: false });

describe('a phrase', () => {
  it('is usable when it was said and nothing else cost it anything', () => {
    expect(unusable(study(0.2))).toBeNull();
    expect(unusable(unheard)).toBe('unheard');
  });
  it('tells nothing of a voice where the level or a noise had its part in it', () => {
    expect(unusable(loud({ clipped: 0.05 }))).toBe('clipped');
    expect(unusable(loud({ speech: -55, background: -80 }))).toBe('quiet');
    expect(unusable(loud({ background: -35 }))).toBe('noisy');
    expect(unusable({ ...unheard, loudness: loud({ background: -35 }).loudness })).toBe('noisy');
  });
});

describe('the loudness of an utterance', () => {
  const hum = (seconds: number, high: number) =>
    Array.from({ length: 16_000 * seconds }, (_, i) => high * Math.sin((2 * Math.PI * 200 * i) / 16_000));
  it('is that of its speech and that of its pauses', () => {
    const { speech, background, clipped } = loudnessOf(
      Float32Array.from([...hum(0.5, 0.001), ...hum(1, 0.1), ...hum(0.5, 0.001)]),
    );
    expect(speech).toBeCloseTo(-23, 0);
    expect(background).toBeCloseTo(-63, 0);
    expect(clipped).toBe(0);
  });
  it('shows where the scale ended', () => {
    const cut = Float32Array.from(hum(1, 1.5), (x) => Math.max(-1, Math.min(1, x)));
    expect(loudnessOf(cut).clipped).toBeGreaterThan(0.3);
  });
  it('of nothing is very low', () => {
    expect(loudnessOf(new Float32Array(0))).toEqual({ speech: -120, background: -120, clipped: 0 });
  });
});

describe('the phrases, one after the other', () => {
  const phrases = ['a', 'b', 'c'];
  const start = beginFitting(phrases);
  it('go on when they were heard, and are left out after three tries', () => {
    const once = afterPhrase(start, study(0.1));
    expect(phraseDue(once)).toBe('b');
    const twice = afterPhrase(afterPhrase(once, unheard), unheard);
    expect(twice).toMatchObject({ why: 'unheard', tries: 2 });
    expect(phraseDue(twice)).toBe('b');
    expect(afterPhrase(twice, unheard).studies).toEqual([study(0.1), null]);
  });
  it('do not count a noise as a try', () => {
    let fitting = start;
    for (let times = 0; times < 5; times++) fitting = afterPhrase(fitting, null);
    expect(fitting).toMatchObject({ why: 'noise', tries: 0 });
    expect(phraseDue(fitting)).toBe('a');
  });
  it('can be skipped and repeated', () => {
    const one = afterPhrase(start, study(0.1));
    expect(phraseDue(skipPhrase(one))).toBe('c');
    expect(repeatPhrase(skipPhrase(one)).studies).toEqual(one.studies);
    expect(repeatPhrase(start)).toEqual(start);
    expect(phraseDue([study(0), study(0), study(0)].reduce(afterPhrase, start))).toBeNull();
  });
});

describe('a fit', () => {
  const accepts = (...losses: number[]) => fitOf(losses.map((loss) => study(loss)))?.accepts;
  it('accepts of a clear voice as much as without it, and more of one that loses more', () => {
    expect(accepts(0, 0.1, 0.2, 0.1, 0)).toBe(1);
    expect(accepts(0.6, 0.6, 0.6, 0.6, 0.6)).toBe(1);
    expect(accepts(0.8, 0.9, 1, 0.9, 0.1)).toBe(1.08);
    expect(accepts(1.4, 1.5, 1.4, 1.6, 1.5)).toBe(MOST);
  });
  it('goes by the middle phrase, so that one or two bad ones change nothing', () => {
    expect(accepts(0.6, 0.6, 0.6, 2, 2)).toBe(1);
    expect(accepts(0.6, 0.6, 0.6, 0, 0)).toBe(1);
  });
  it('is none where more than two of five phrases tell nothing', () => {
    expect(fitOf([study(1), study(1), study(1), null, unheard])).not.toBeNull();
    expect(fitOf([study(1), study(1), loud({ clipped: 1 }), null, unheard])).toBeNull();
  });
  it('knows a pronunciation only where the others clearly fit worse, over all phrases', () => {
    const says = (...ways: Study['ways'][]) =>
      fitOf([...ways.map((each) => study(0, { ways: each })), study(0), study(0), study(0)])?.says;
    expect(says({ four: { 'F AO R': 0, 'F AO': 5 } })).toEqual({ four: 'F AO R' });
    expect(says({ four: { 'F AO R': 0, 'F AO': 1 } })).toEqual({});
    expect(says({ thou: { A: 0, B: 2 } }, { thou: { A: 0, B: 2 } })).toEqual({ thou: 'A' });
    expect(says({ thou: { A: 0, B: 9 } }, { thou: { A: 9, B: 0 } })).toEqual({});
  });
  it('learns nothing from a phrase that is not usable', () => {
    const ways = { four: { 'F AO R': 0, 'F AO': 9 } };
    const all = [study(0), study(0), study(0), { ...unheard, ways }];
    expect(fitOf(all)).toEqual({ accepts: 1, says: {} });
  });
});

describe('whatever was said, a fit', () => {
  const anyStudy = fc.record({
    said: fc.boolean(),
    loss: fc.double({ min: 0, noNaN: true }),
    loudness: fc.record({
      speech: fc.double({ min: -120, max: 0, noNaN: true }),
      background: fc.double({ min: -120, max: 0, noNaN: true }),
      clipped: fc.double({ min: 0, max: 1, noNaN: true }),
    }),
    ways: fc.constant({}),
  });
  it('stays within its bounds', () => {
    fc.assert(
      fc.property(fc.array(fc.option(anyStudy), { maxLength: 5 }), (studies) => {
        const { accepts } = fitOf(studies) ?? { accepts: 1 };
        return accepts >= 1 && accepts <= MOST;
      }),
    );
  });
  it('leaves sentences of one and two phones as they are', () => {
    for (const phones of [1, 2]) expect(acceptedLoss(phones, MOST)).toBe(acceptedLoss(phones));
    expect(acceptedLoss(3, MOST)).toBeCloseTo(MOST * acceptedLoss(3));
  });

  const verdicts = fc.record({
    phones: fc.integer({ min: 1, max: 30 }),
    loss: fc.double({ min: 0, max: 4, noNaN: true }),
    lead: fc.double({ min: 0, max: 10, noNaN: true }),
    accepts: fc.double({ min: 1, max: MOST, noNaN: true }),
    strange: fc.double({ min: 0, max: 2, noNaN: true }),
  });
  const tierOf = (
    { phones, loss, lead }: { phones: number; loss: number; lead: number },
    voice?: { accepts: number; strange: number },
  ) => {
    const cost = phones * loss;
    const aligned = [{ word: 'said', phones, cost, from: 0, to: 1 }];
    const next = { words: ['other'], cost: cost + lead };
    return judge([{ words: ['said'], cost }, next], aligned, phones, voice).rejected;
  };
  it('never changes what is refused, nor takes what has less than the lead', () => {
    fc.assert(
      fc.property(verdicts, (each) => {
        const [plain, fitted] = [tierOf(each), tierOf(each, each)];
        const isRefused = (tier: typeof plain) => tier === 'unknown' || tier === 'noise';
        return isRefused(plain) === isRefused(fitted) && (fitted !== null || each.lead >= CLEAR_LEAD);
      }),
    );
  });
  it('takes by its pronunciations only what is taken without them', () => {
    fc.assert(
      fc.property(
        verdicts,
        (each) => tierOf(each, { accepts: 1, strange: each.strange }) !== null || tierOf(each) === null,
      ),
    );
  });
});
