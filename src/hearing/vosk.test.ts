// What the engine makes of the library's answers, with a library that says what the test wants. The real one runs in
// Chromium only (tests/vosk).
import 'fake-indexeddb/auto';
import { beforeEach, expect, test, vi } from 'vitest';
import { archive, modelFiles } from '../../tests/vosk/fixtures.ts';
import { graphOf } from '../phrases/wordgraph.ts';
import { openVosk } from './vosk.ts';

const library = vi.hoisted(() => ({
  /** The answers to one utterance; none: silence for ever. */
  answers: [] as unknown[],
  lists: [] as (string | undefined)[],
  removed: 0,
}));

vi.mock('vosk-browser', () => {
  class Model extends EventTarget {
    readonly worker = Object.assign(new EventTarget(), { terminate: () => {} });
    constructor() {
      super();
      setTimeout(() =>
        this.dispatchEvent(new CustomEvent('load', { detail: { event: 'load', result: true } })),
      );
    }
    on() {}
    readonly KaldiRecognizer = class extends EventTarget {
      #sound = false;
      constructor(_rate: number, list?: string) {
        super();
        library.lists.push(list);
      }
      setWords() {}
      acceptWaveformFloat() {
        this.#sound = true;
      }
      retrieveFinalResult() {
        const answers = this.#sound ? library.answers : [{ event: 'result', result: { text: '' } }];
        this.#sound = false;
        for (const detail of answers) {
          const { event } = detail as { event: string };
          setTimeout(() => this.dispatchEvent(new CustomEvent(event, { detail })));
        }
      }
      remove() {
        library.removed++;
      }
    };
  }
  return { Model };
});

const words = (...said: [word: string, conf: number, start: number, end: number][]) => ({
  event: 'result',
  result: { text: 'any', result: said.map(([word, conf, start, end]) => ({ word, conf, start, end })) },
});
const part = { event: 'partialresult', result: { partial: '' } };
const empty = { event: 'result', result: { text: '' } };
const second = new Float32Array(16_000);

async function opened(timeoutMs = 1000) {
  const files = modelFiles('runtime').set('am/final.mdl', Buffer.from('any'));
  const vosk = await openVosk({ model: new Blob([archive(files) as BlobPart]), timeoutMs });
  await vosk.expect(graphOf(['intake two', 'go back']));
  return vosk;
}

beforeEach(() => {
  library.lists = [];
  library.removed = 0;
});

test('joins what comes in pieces, and trusts no more than the weakest word', async () => {
  const vosk = await opened();
  library.answers = [words(['intake', 0.9, 0.1, 0.4]), words(['two', 0.7, 0.5, 0.75])];
  expect(await vosk.hear(second)).toMatchObject({
    text: 'intake two',
    rejected: null,
    confidence: 0.7,
    words: [
      { word: 'intake', confidence: 0.9 },
      { word: 'two', confidence: 0.7 },
    ],
    from: 1600,
    to: 12_000,
  });
});

test('counts each utterance from its own beginning', async () => {
  const vosk = await opened();
  library.answers = [part, words(['go', 1, 0.1, 0.2], ['back', 1.01, 0.2, 0.5])];
  expect(await vosk.hear(second)).toMatchObject({ from: 1600, to: 8000, confidence: 1 });
  library.answers = [part, words(['go', 1, 1.1, 1.2], ['back', 1, 1.2, 1.5])];
  expect(await vosk.hear(second)).toMatchObject({ from: 1600, to: 8000 });
});

test.each([
  ['nothing', 'noise', [part, empty]],
  ['other speech', 'unknown', [part, words(['[unk]', 1, 0, 1])]],
  [
    'a phrase with other speech',
    'unknown',
    [words(['go', 1, 0, 0.2], ['back', 1, 0.2, 0.4]), words(['[unk]', 1, 0.5, 1])],
  ],
  ['part of a phrase', 'unknown', [part, words(['intake', 1, 0, 1])]],
  ['phrases mixed', 'unknown', [part, words(['intake', 1, 0, 0.5], ['back', 1, 0.5, 1])]],
])('enters nothing for %s: %s', async (_, rejected, answers) => {
  const vosk = await opened();
  library.answers = answers;
  expect(await vosk.hear(second)).toMatchObject({ text: null, rejected, confidence: 0, words: [] });
});

test('gives the library one list a state, with other speech, and removes the old one', async () => {
  const vosk = await opened();
  await vosk.expect(graphOf(['undo']));
  expect(library.lists).toEqual(['["intake two","go back","[unk]"]', '["undo","[unk]"]']);
  expect(library.removed).toBe(1);
});

test('waits no longer than told, and takes a new list afterwards', async () => {
  const vosk = await opened(50);
  library.answers = [part];
  await expect(vosk.hear(second)).rejects.toThrow('Vosk does not answer.');
  await expect(vosk.hear(second)).rejects.toThrow('not told yet what may be said');
  await vosk.expect(graphOf(['go back']));
  library.answers = [part, words(['go', 1, 0, 0.5], ['back', 1, 0.5, 1])];
  expect((await vosk.hear(second)).text).toBe('go back');
});

test.each([
  ['an error', { event: 'error', error: 'any' }],
  ['a result of another shape', { event: 'result', result: { result: [{ word: 'go' }] } }],
])('passes on %s as a sentence', async (_, answer) => {
  const vosk = await opened();
  library.answers = [answer];
  await expect(vosk.hear(second)).rejects.toThrow('Vosk failed with this model.');
});

test('hears no more once it is closed', async () => {
  const vosk = await opened();
  library.answers = [part];
  const waiting = expect(vosk.hear(second)).rejects.toThrow('Vosk is closed.');
  await new Promise((resolve) => setTimeout(resolve, 10));
  vosk.close();
  await waiting;
  await expect(vosk.hear(second)).rejects.toThrow('Vosk is closed.');
});
