// Intervals of what was counted, and chance that is the same in every run.
import { createHash } from 'node:crypto';

const Z = 1.96;

/** Wilson's 95 % interval of a share (E. B. Wilson, J. Am. Stat. Assoc. 22 (1927) 209–212).  @returns [from, to], 0…1 */
export function wilson(hits: number, n: number): [number, number] {
  if (n === 0) return [0, 1];
  const p = hits / n;
  const middle = p + (Z * Z) / (2 * n);
  const half = Z * Math.sqrt((p * (1 - p)) / n + (Z * Z) / (4 * n * n));
  const whole = 1 + (Z * Z) / n;
  return [Math.max(0, (middle - half) / whole), Math.min(1, (middle + half) / whole)];
}

/** Byar's 95 % interval of a count of rare events (Breslow and Day, IARC Scientific Publications 82 (1987), p. 69). */
export function rareEvents(count: number): [number, number] {
  const bound = (n: number, z: number) => n * (1 - 1 / (9 * n) + z / (3 * Math.sqrt(n))) ** 3;
  return [count === 0 ? 0 : bound(count, -Z), bound(count + 1, Z)];
}

/** A whole number below 2³² that depends on nothing but the text. */
export const numberOf = (text: string): number => createHash('sha256').update(text).digest().readUInt32BE(0);

/** A repeatable stream of numbers 0…1 (Park and Miller's generator). */
export function chance(seed: string): () => number {
  let state = (numberOf(seed) % 2_147_483_646) + 1;
  return () => {
    state = (state * 48_271) % 2_147_483_647;
    return state / 2_147_483_647;
  };
}

/** So many of the items, always the same ones, in an order of chance; fewer are a part of more. */
export function some<T>(items: Iterable<T>, key: (item: T) => string, count = Number.POSITIVE_INFINITY): T[] {
  return [...items]
    .map((item) => ({ item, at: numberOf(`some:${key(item)}`) }))
    .sort((a, b) => a.at - b.at)
    .slice(0, count)
    .map(({ item }) => item);
}

export type Half = 'choose' | 'judge';

/**
 * What is held out is halved once more: on one half thresholds are chosen, on the other one they are judged. A key is
 * a person's or a sentence; with this word before it people of each set fall on both sides.
 */
export const halfOf = (key: string): Half =>
  (numberOf(`bench:${key}`) >>> 24) % 2 === 0 ? 'choose' : 'judge';
