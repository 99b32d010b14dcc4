// Who is named in the app is named beside the ear too, and whatever ships has its licence's text with it.
import { readFileSync } from 'node:fs';
import { expect, test } from 'vitest';
import { dependencies } from '../../package.json';
import { BUILT_WITH, TRAINED_ON } from './about.tsx';

const linesOf = (path: string) => readFileSync(new URL(`../../${path}`, import.meta.url), 'utf8').split('\n');

test.each(Object.values(TRAINED_ON).flat())('models/README.md has %s, by %s, under %s', (...credit) => {
  const row = `| ${credit.join(' | ')} |`;
  expect(linesOf('models/README.md').filter((line) => line.startsWith(row))).toHaveLength(1);
});

test('every dependency is named', () => {
  const named = BUILT_WITH.map(([name]) => name);
  expect(Object.keys(dependencies).filter((name) => !named.includes(name))).toEqual([]);
});

test.each(BUILT_WITH)('licences.txt has a line for %s', (name) => {
  expect(linesOf('public/licences.txt').map((line) => line.split(/[ ,]+/)[1])).toContain(name);
});
