// How the built-in voice says the trade's words that its own letter-to-sound rules get wrong.
// Found by printing the phones of the words the dialogue uses; a vowel's digit is its stress.

/** Word → phones of the synthesiser's set. A later "s", as in "valves", needs an entry of its own. */
const PRONUNCIATIONS: Readonly<Record<string, string>> = {
  thou: 'th aw1', // as in "thousandth"; unhelped it is the old word for "you"
  reading: 'r iy1 d ih0 ng',
  readings: 'r iy1 d ih0 ng z',
  metre: 'm iy1 t er0',
  metres: 'm iy1 t er0 z',
  millimetre: 'm ih1 l ax0 m iy1 t er0',
  millimetres: 'm ih1 l ax0 m iy1 t er0 z',
  micrometre: 'm ay1 k r ow0 m iy1 t er0', // the unit, not the instrument
  micrometres: 'm ay1 k r ow0 m iy1 t er0 z',
  recheck: 'r iy0 ch eh1 k',
  rechecked: 'r iy0 ch eh1 k t',
  remeasure: 'r iy0 m eh1 zh er0',
  retighten: 'r iy0 t ay1 t ax0 n',
  retorque: 'r iy0 t ao1 r k',
  torqued: 't ao1 r k t',
  gauged: 'g ey1 jh d',
  pushrod: 'p uh1 sh r aa1 d',
  pushrods: 'p uh1 sh r aa1 d z',
  anticlockwise: 'ae1 n t iy0 k l aa1 k w ay0 z',
  antiseize: 'ae1 n t iy0 s iy1 z',
  threadlocker: 'th r eh1 d l aa1 k er0',
};

/** The same as a file of additions to the synthesiser's lexicon: one `word : phones` a line. */
export const LEXICON_ADDITIONS = Object.entries(PRONUNCIATIONS)
  .map(([word, phones]) => `${word} : ${phones}\n`)
  .join('');
