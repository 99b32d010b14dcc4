// Where a text breaks is told by a reader of our own: it must find a break exactly where the platform's finds one.
import fc from 'fast-check';
import { expect, test } from 'vitest';
import { breaksAt } from './unreadable.ts';

const readable = (text: string): boolean => {
  try {
    JSON.parse(text);
    return true;
  } catch {
    return false;
  }
};

test('a text that can be read has no break', () => {
  fc.assert(
    fc.property(fc.jsonValue(), fc.constantFrom(0, 2, '\t'), (value, indent) => {
      expect(breaksAt(JSON.stringify(value, null, indent))).toBeNull();
    }),
  );
});

test('with a piece taken out, put in or changed it has one wherever JSON has', () => {
  const pieces = fc.constantFrom(
    '',
    ',',
    ':',
    '"',
    '{',
    '}',
    '[',
    ']',
    '0',
    '.',
    '-',
    'e',
    '\\',
    '\n',
    '“',
    'true',
    '//',
  );
  fc.assert(
    fc.property(fc.jsonValue(), fc.nat(), fc.nat(2), pieces, (value, place, out, piece) => {
      const whole = JSON.stringify(value);
      const at = place % (whole.length + 1);
      const text = whole.slice(0, at) + piece + whole.slice(at + out);
      expect(breaksAt(text) === null).toBe(readable(text));
    }),
    { numRuns: 1000 },
  );
});

test('what stands before the break is not at fault, and what stands there is', () => {
  for (const [text, at] of [
    ['{"a": 1 "b": 2}', 8],
    ['{"a": 0,5}', 8],
    ['{"a": [1, 2,]}', 12],
    ["{'a': 1}", 1],
    ['{"a": 1} // so', 9],
    ['{"a": "one\ntwo"}', 6],
    ['{"a": [1', 8],
    ['', 0],
  ] as const) {
    expect(breaksAt(text), text).toBe(at);
  }
});
