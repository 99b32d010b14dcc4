// How words are said, and how far apart.
import { describe, expect, it } from 'vitest';
import { lexicon, model, shippedLexicon } from '../../tests/hearing-clips.ts';
import { lexiconFor } from '../../tools/lexicon.ts';
import { phonesOf, readLexicon, unpronounceable } from './lexicon.ts';

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
