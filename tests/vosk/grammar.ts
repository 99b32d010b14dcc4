// The grammar inside the model "strict" of tests/data/vosk, as a word graph, with the pronunciations it was made of:
// what our own decoder must be given to be compared with Vosk. Vosk keeps it as transitions between sounds only.
import { dictionary } from 'cmu-pronouncing-dictionary';
import type { Lexicon } from '../../src/hearing/lexicon.ts';
import { type Arc, type WordGraph, wordsOf } from '../../src/phrases/wordgraph.ts';

const EIGHT = ['one', 'two', 'three', 'four', 'five', 'six', 'seven', 'eight'];
const NINE = [...EIGHT, 'nine'];
const DIGITS = ['zero', 'oh', ...NINE];
const SIDES = ['intake', 'exhaust', 'inlet'];
const POSITIONS = [...EIGHT, 'left', 'right', 'front', 'rear'];
// biome-ignore format: a list of words
const GAPS = [...NINE, 'ten', 'eleven', 'twelve', 'thirteen', 'fourteen', 'fifteen', 'sixteen', 'seventeen', 'eighteen', 'nineteen', 'twenty'];
// biome-ignore format: a list of words
const FEELS = ['drag okay', 'light drag', 'heavy drag', 'no drag', 'too tight', 'too loose', 'go', 'no go', 'okay', 'tight', 'loose', 'good'];
// biome-ignore format: a list of words
const COMMANDS = [
  'next', 'go back', 'back', 'repeat', 'say again', 'read back', 'undo', 'yes', 'no', 'correct', 'wrong', 'stop', 'pause', 'resume',
  'continue', 'help', 'start', 'finished', 'done', 'skip', 'cancel', 'confirm', 'wait', 'ready', 'delete last', 'what next', 'status',
  'save', 'clear', 'next valve', 'previous valve', 'top dead center', 'compression stroke', 'marks aligned', 'rotate crank',
  'engine cold', 'feeler gauge', 'set spec', 'adjust', 'note', 'cylinder one', 'cylinder two', 'cylinder three', 'cylinder four',
  'cylinder five', 'cylinder six', 'repeat last', 'begin measure', 'correction', 'shim size',
];

export function strictGrammar(): WordGraph {
  const arcs: Arc[] = [];
  let states = 1;
  const state = () => states++;
  const way = (from: number, to: number, phrases: readonly string[]) => {
    for (const phrase of phrases) {
      const words = phrase.split(' ');
      words.reduce((at, word, i) => {
        const next = i === words.length - 1 ? to : state();
        arcs.push({ from: at, to: next, word });
        return next;
      }, from);
    }
  };
  const [start, end] = [0, state()];
  const [side, position, gap, measured] = [state(), state(), state(), state()];
  way(start, side, SIDES);
  way(side, position, POSITIONS);
  way(position, gap, GAPS);
  way(gap, measured, ['thou']);
  const [point, tenth, hundredth] = [state(), state(), state()];
  way(position, point, ['point']);
  way(point, tenth, DIGITS);
  way(tenth, hundredth, DIGITS);
  way(hundredth, measured, ['millimeters']);
  way(hundredth, end, FEELS);
  way(measured, end, FEELS);
  const [shim, whole, decimal, first] = [state(), state(), state(), state()];
  way(start, shim, ['shim']);
  way(shim, whole, ['one', 'two', 'three']);
  way(whole, decimal, ['point']);
  way(whole, first, DIGITS);
  way(decimal, first, DIGITS);
  way(first, end, DIGITS);
  way(start, end, COMMANDS);
  return { states, arcs, finals: [end, measured, hundredth] };
}

/** The CMU dictionary's variants without stress, for the words of the graph; "thou" is the thousandth of an inch. */
export function strictLexicon(graph: WordGraph): Lexicon {
  const said = (word: string) => {
    if (word === 'thou') return ['TH AW', 'DH AW'];
    const keys = [word, ...[1, 2, 3, 4].map((n) => `${word}(${n})`)].filter((key) => key in dictionary);
    return [...new Set(keys.map((key) => dictionary[key]!.replace(/ #.*/, '').replace(/\d/g, '').trim()))];
  };
  return new Map(wordsOf(graph).map((word) => [word, said(word)]));
}
