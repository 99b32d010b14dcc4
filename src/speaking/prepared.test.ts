// Sentences computed ahead are there at once, in the right order, and do not fill the memory.
import { expect, test } from 'vitest';
import { PreparedSentences } from './prepared.ts';

/** A synthesiser that notes what it was asked. */
function notingStore(limit?: number) {
  const computed: string[] = [];
  const store = new PreparedSentences<string>(async (text) => {
    computed.push(text);
    if (text === 'bad') throw new Error('no voice');
    return new Float32Array(text.length);
  }, limit);
  return { store, computed };
}

const settled = () => new Promise((resolve) => setTimeout(resolve));

test('a prepared sentence is computed once', async () => {
  const { store, computed } = notingStore();
  store.prepare(['set', 'say again']);
  await settled();
  expect(await store.get('set')).toHaveLength(3);
  expect(computed).toEqual(['set', 'say again']);
});

test('a sentence wanted now goes before those that may be wanted', async () => {
  const { store, computed } = notingStore();
  store.prepare(['one', 'two', 'three']);
  await store.get('now');
  await settled();
  expect(computed).toEqual(['one', 'now', 'two', 'three']);
});

test('a sentence wanted while it is under way is not computed again', async () => {
  const { store, computed } = notingStore();
  store.prepare(['one']);
  await Promise.all([store.get('one'), store.get('one')]);
  expect(computed).toEqual(['one']);
});

test('a new state forgets what the last one wanted ahead', async () => {
  const { store, computed } = notingStore();
  store.prepare(['one', 'two', 'three']);
  store.prepare(['four']);
  await settled();
  expect(computed).toEqual(['one', 'four']);
});

test('the sentence that was used least lately is dropped first', async () => {
  const { store, computed } = notingStore(2);
  for (const text of ['a', 'b', 'a', 'c', 'a', 'b']) await store.get(text);
  expect(computed).toEqual(['a', 'b', 'c', 'b']);
});

test('a failure is told to who wants the sentence, and is tried anew', async () => {
  const { store, computed } = notingStore();
  store.prepare(['bad']);
  await settled();
  await expect(store.get('bad')).rejects.toThrow('no voice');
  expect(computed).toEqual(['bad', 'bad']);
});
