// How words are said, and how far apart.
import { describe, expect, it } from 'vitest';
import { lexicon, model, shippedLexicon } from '../../tests/hearing-clips.ts';
import { lexiconFor } from '../../tools/lexicon.ts';
import { distance, phonesOf, readLexicon, sentenceDistance, unpronounceable } from './lexicon.ts';

describe('the lexicon', () => {
  it('of the app has only phones that the ear knows', () => {
    const phones = new Set([...shippedLexicon.values()].flat().flatMap((said) => said.split(' ')));
    expect([...phones].filter((phone) => !model.units.includes(phone))).toEqual([]);
  });

  it('of the app is what the generator makes of its words', () => {
    expect(readLexicon(JSON.parse(lexiconFor(shippedLexicon.keys())))).toEqual(shippedLexicon);
  });

  it('knows the words of radiotelephony and of the trade', () => {
    expect(lexicon.get('fife')).toContain('F AY F');
    expect(lexicon.get('thou')).toEqual(expect.arrayContaining(['TH AW', 'DH AW']));
    expect(unpronounceable(lexicon, ['niner', 'torqued', 'qwxz', 'tree'])).toEqual(['qwxz']);
  });

  it('gives every way to say a sentence', () => {
    const small = readLexicon({ seven: ['S EH V AH N'], thou: ['TH AW', 'DH AW'] });
    expect(phonesOf(small, 'seven thou').map((phones) => phones.join(' '))).toEqual([
      'S EH V AH N TH AW',
      'S EH V AH N DH AW',
    ]);
    expect(() => phonesOf(small, 'seven mil')).toThrow('"mil"');
  });

  it('is refused where it is damaged', () => {
    expect(() => readLexicon({ thou: 'TH AW' })).toThrow('damaged');
    expect(() => readLexicon({ thou: ['th aw'] })).toThrow('damaged');
  });
});

describe('the distance of two pronunciations', () => {
  it('is nothing between a thing and itself, and the same both ways', () => {
    const [seven, eleven] = [
      ['S', 'EH', 'V', 'AH', 'N'],
      ['IH', 'L', 'EH', 'V', 'AH', 'N'],
    ];
    expect(distance(seven, seven)).toBe(0);
    expect(distance(seven, eleven)).toBeCloseTo(distance(eleven, seven));
    expect(distance([], seven)).toBe(5);
  });

  it('is small for what is easily confused and large for what is not', () => {
    const between = (a: string, b: string) => sentenceDistance(lexicon, a, b);
    expect(between('pin', 'bin')).toBeLessThan(between('pin', 'chin'));
    expect(between('fifteen', 'fifty')).toBeLessThan(1.5);
    expect(between('four', 'fife')).toBeLessThan(2.5);
    expect(between('affirm', 'negative')).toBeGreaterThan(3.5);
  });
});
