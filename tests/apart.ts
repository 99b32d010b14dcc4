// How far apart two sentences sound to the shipped ear in noise, by the measured table tests/data/hearing/alike.tsv.
import { readFileSync } from 'node:fs';
import { type Lexicon, phonesOf } from '../src/hearing/lexicon.ts';

/** What it loses (nats, on average) to hear the second where the first was said; '' is no phone. */
export type Alike = (said: string, heard: string) => number;

const NONE = 'none';
/** Nats between phones of which too few were measured either way: the mean of the table. */
const UNMEASURED = 12;

export function readAlike(file: URL): Alike {
  const [head, ...rows] = readFileSync(file, 'utf8')
    .trim()
    .split('\n')
    .map((line) => line.split('\t'));
  const nats = new Map(
    rows.map(([said, , ...lost]) => [said!, new Map(lost.map((value, k) => [head![k + 2]!, Number(value)]))]),
  );
  return (said, heard) => {
    if (said === heard) return 0;
    const [a, b] = [said || NONE, heard || NONE];
    // Where noise makes another phone the likelier one, they are not told apart at all.
    return Math.max(0, nats.get(a)?.get(b) ?? nats.get(b)?.get(a) ?? UNMEASURED);
  };
}

/** Nats by which, where one pronunciation was said, another one fits worse: the cheapest way to change the one into the other. */
export function nearness(said: readonly string[], heard: readonly string[], alike: Alike): number {
  const row = [0];
  for (const phone of heard) row.push(row.at(-1)! + alike('', phone));
  let before = row;
  for (const phone of said) {
    const next = [before[0]! + alike(phone, '')];
    heard.forEach((other, j) => {
      next.push(
        Math.min(
          before[j]! + alike(phone, other),
          before[j + 1]! + alike(phone, ''),
          next[j]! + alike('', other),
        ),
      );
    });
    before = next;
  }
  return before.at(-1)!;
}

/** The smallest of them between any way to say one sentence and any way to say the other, whichever was said. */
export function apart(lexicon: Lexicon, a: string, b: string, alike: Alike): number {
  const ways = phonesOf(lexicon, b);
  return Math.min(
    ...phonesOf(lexicon, a).flatMap((one) =>
      ways.map((other) => Math.min(nearness(one, other, alike), nearness(other, one, alike))),
    ),
  );
}
