// Why the text of a data sheet cannot be read, for who wrote it by hand: which line, and what to look for there.

const SPACE = /[ \t\r\n]*/y;
/** A text in quotation marks, a figure, a word, or one of the signs between them. */
const PIECE =
  /"(?:[ !#-[\]-\uffff]|\\(?:["\\/bfnrt]|u[\da-fA-F]{4}))*"|-?(?:0|[1-9]\d*)(?:\.\d+)?(?:[eE][+-]?\d+)?|true|false|null|[{}[\],:]/y;

/** First characters of the pieces that may begin a value. */
const VALUE = '{["-0123456789tfn';

/**
 * @returns index of the first piece that cannot stand where it does, the text's length where it only ends too early;
 *   null where it can be read
 */
export function breaksAt(text: string): number | null {
  /** The brackets that have to be closed yet, the innermost last. */
  const open: ('}' | ']')[] = [];
  let may = VALUE;
  let isName = false;
  for (let at = 0; ; ) {
    SPACE.lastIndex = at;
    at += SPACE.exec(text)![0].length;
    if (at === text.length) return may === '' ? null : at;
    PIECE.lastIndex = at;
    const piece = PIECE.exec(text)?.[0];
    const sign = text[at]!;
    if (piece === undefined || !may.includes(sign)) return at;
    at += piece.length;
    const wasName: boolean = isName;
    isName = sign === '{' || (sign === ',' && open.at(-1) === '}');
    if (sign === '{' || sign === '[') {
      open.push(sign === '{' ? '}' : ']');
      may = sign === '{' ? '"}' : `${VALUE}]`;
    } else if (sign === ':' || sign === ',') {
      may = isName ? '"' : VALUE;
    } else {
      if (sign === '}' || sign === ']') open.pop();
      may = wasName && sign === '"' ? ':' : open.length > 0 ? `,${open.at(-1)}` : '';
    }
  }
}

/** @param text that is no JSON */
export function whyUnreadable(text: string): string {
  if (!text.trimStart().startsWith('{'))
    return 'This file is no data sheet: a data sheet is plain text that begins with {. Choose another file.';
  const at = breaksAt(text) ?? 0;
  const lines = text.slice(0, at).split('\n');
  if (at === text.length)
    return `This file ends too early, in line ${lines.length}: a closing } or ] is missing. Is all of it there?`;
  const [there] = /^[^ \t\r\n]{1,20}/.exec(text.slice(at))!;
  return (
    `Line ${lines.length} cannot be read from “${there}” on (character ${lines.at(-1)!.length + 1}). Look there and just before: ` +
    'is a comma, a bracket or a quotation mark missing or too many? Quotation marks are straight ("), and a figure has a point (0.20).'
  );
}
