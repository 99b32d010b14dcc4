// How much a confidence means: of the sentences with each tenth of it, how many were right; as a table and as a picture.
import type { Outcome } from './outcome.ts';
import { wilson } from './statistics.ts';

export interface Tenth {
  /** Lower edge, 0…0.9. */
  readonly from: number;
  readonly n: number;
  readonly right: number;
  /** Mean confidence of them. */
  readonly said: number;
}

/** The outcomes in which a sentence of the list was said and one was found, by their confidence; right is what means the same. */
export function tenths(outcomes: readonly Outcome[]): Tenth[] {
  const found = outcomes.filter(({ said, best, loss }) => said !== '' && best !== null && loss !== null);
  return Array.from({ length: 10 }, (_, k) => {
    const within = found.filter(({ confidence }) => Math.min(9, Math.floor(10 * confidence)) === k);
    return {
      from: k / 10,
      n: within.length,
      right: within.filter(({ same }) => same).length,
      said: within.reduce((sum, { confidence }) => sum + confidence, 0) / Math.max(1, within.length),
    };
  });
}

const SIDE = 360;
const EDGE = 48;
const at = (share: number) => EDGE + share * SIDE;
const up = (share: number) => EDGE + (1 - share) * SIDE;

/** A square with the diagonal that a confidence should follow, and each tenth with its 95 % interval and its number. */
export function picture(points: readonly Tenth[], title: string): string {
  const size = SIDE + 2 * EDGE;
  const steps = [0, 0.2, 0.4, 0.6, 0.8, 1];
  const grid = steps.map(
    (s) =>
      `<path d="M${at(s)} ${up(0)}V${up(1)}M${at(0)} ${up(s)}H${at(1)}" stroke="#ddd"/>` +
      `<text x="${at(s)}" y="${up(0) + 18}" text-anchor="middle">${s}</text>` +
      `<text x="${at(0) - 8}" y="${up(s) + 4}" text-anchor="end">${s}</text>`,
  );
  const marks = points
    .filter(({ n }) => n > 0)
    .map(({ said, right, n }) => {
      const [low, high] = wilson(right, n);
      const [x, y] = [at(said).toFixed(1), up(right / n).toFixed(1)];
      return (
        `<path d="M${x} ${up(low).toFixed(1)}V${up(high).toFixed(1)}" stroke="#1b5e7a" stroke-width="2"/>` +
        `<circle cx="${x}" cy="${y}" r="5" fill="#1b5e7a"/>` +
        `<text x="${Number(x) + 8}" y="${Number(y) + 14}" font-size="11">${n}</text>`
      );
    });
  return `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 ${size} ${size}" width="${size}" height="${size}" font-family="sans-serif" font-size="12">
<title>${title}</title>
<rect width="${size}" height="${size}" fill="#fff"/>
${grid.join('\n')}
<path d="M${at(0)} ${up(0)}L${at(1)} ${up(1)}" stroke="#777" stroke-dasharray="6 4"/>
${marks.join('\n')}
<text x="${at(0.5)}" y="${size - 8}" text-anchor="middle">confidence</text>
<text x="14" y="${up(0.5)}" text-anchor="middle" transform="rotate(-90 14 ${up(0.5)})">share that was right</text>
</svg>
`;
}
