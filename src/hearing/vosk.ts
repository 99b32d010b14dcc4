// The second engine: Kaldi's recogniser in WebAssembly (npm vosk-browser) with a model that the user brings.
// Most of this file guards against what that library leaves unsaid: failures, unknown words, and old copies it keeps.
import type { KaldiRecognizer, Model } from 'vosk-browser';
import * as z from 'zod/mini';
import { type WordGraph, wordsOf } from '../phrases/wordgraph.ts';
import { type Heard, type Recogniser, SAMPLE_RATE } from './recogniser.ts';
import { readArchive, type VoskArchive } from './vosk-archive.ts';
import { accepts, showingPairs } from './vosk-list.ts';

export interface VoskOptions {
  /** Where the model (.tar.gz with one folder at the top) lies, or the file itself. */
  readonly model: string | Blob;
  /** Stops the opening; afterwards use `close`. */
  readonly signal?: AbortSignal;
  /** Bytes fetched so far and in all (null where the server does not say). */
  readonly onProgress?: (got: number, all: number | null) => void;
  /** The longest silence of the engine while loading, taking a list or hearing, in milliseconds. */
  readonly timeoutMs?: number;
}

export interface Vosk extends Recogniser {
  /** `fixed`: what may be said is inside the model; `expect` then only says which results count. */
  readonly graph: VoskArchive['graph'];
  /** The words of the list that this model cannot hear, in alphabetical order. */
  missingWords(graph: WordGraph): string[];
}

/** What a model calls speech that is none of its words. */
export const OTHER_SPEECH = '[unk]';
const TIMEOUT_MS = 60_000;

/** What the library sends back; `result` within it is missing where nothing was heard. */
const Result = z.object({
  event: z.literal('result'),
  result: z.object({
    result: z.optional(
      z.array(z.object({ word: z.string(), conf: z.number(), start: z.number(), end: z.number() })),
    ),
  }),
});
const Partial = z.object({ event: z.literal('partialresult') });
const Message = z.discriminatedUnion('event', [Result, Partial]);
type Message = z.infer<typeof Message>;

/**
 * Fetches the model, checks it and starts the engine. Nothing is kept on the device: who wants the model without a
 * network keeps the file.
 * @throws Error with a sentence saying what is wrong and how to mend it; the signal's reason if it was aborted.
 */
export async function openVosk(options: VoskOptions): Promise<Vosk> {
  const { model: source, signal, timeoutMs = TIMEOUT_MS } = options;
  const archive = typeof source === 'string' ? await fetchModel(source, options) : source;
  const content = await readArchive(archive);
  const library = await import('vosk-browser');
  signal?.throwIfAborted();
  // The library keeps a model under its address before it knows whether the model is any good. An object URL is
  // a new address each time, so a changed model can never be mistaken for an old one.
  const address = URL.createObjectURL(archive);
  const model = new library.Model(address, -1);
  try {
    await loaded(model, timeoutMs, signal);
  } catch (error) {
    workerOf(model).terminate();
    throw error;
  } finally {
    URL.revokeObjectURL(address);
    // Only tidying up: where it fails, it is done next time.
    await forgetCopies().catch(() => {});
  }
  return new VoskRecogniser(model, content, timeoutMs);
}

class VoskRecogniser implements Vosk {
  readonly graph: VoskArchive['graph'];
  readonly #model: Model;
  readonly #words: ReadonlySet<string>;
  readonly #timeoutMs: number;
  #listening: { graph: WordGraph; engine: KaldiRecognizer; fed: number } | null = null;
  /** The library answers in order without naming the question, so one question waits for the other. */
  #turn: Promise<unknown> = Promise.resolve();
  readonly #closing = new AbortController();

  constructor(model: Model, content: VoskArchive, timeoutMs: number) {
    this.graph = content.graph;
    this.#model = model;
    this.#words = content.words;
    this.#timeoutMs = timeoutMs;
  }

  missingWords(graph: WordGraph): string[] {
    return wordsOf(graph).filter((word) => !this.#words.has(word));
  }

  async expect(graph: WordGraph): Promise<void> {
    const missing = this.missingWords(graph);
    if (missing.length > 0) {
      const named = missing.map((word) => `"${word}"`).join(', ');
      throw new Error(`The Vosk model does not know ${named}. Choose another model or use the built-in ear.`);
    }
    return this.#inTurn(async () => {
      if (this.#listening && this.graph === 'fixed') {
        this.#listening.graph = graph;
        return;
      }
      this.#listening?.engine.remove();
      this.#listening = null;
      const engine = this.#newEngine(graph);
      // Creation itself is not answered, only a failure is; so ask something that always has an answer.
      await this.#ask(engine, 1, () => engine.retrieveFinalResult());
      this.#listening = { graph, engine, fed: 0 };
    });
  }

  hear(utterance: Float32Array): Promise<Heard> {
    return this.#inTurn(async () => {
      if (!this.#listening) throw new Error('Vosk was not told yet what may be said.');
      const { graph, engine, fed } = this.#listening;
      const started = performance.now();
      const messages = await this.#ask(engine, 2, () => {
        engine.acceptWaveformFloat(utterance, SAMPLE_RATE);
        engine.retrieveFinalResult();
      });
      this.#listening.fed += utterance.length;
      return { ...judge(graph, messages, fed, utterance.length), ms: performance.now() - started };
    });
  }

  close(): void {
    this.#closing.abort(new Error('Vosk is closed.'));
    // The library's own farewell waits until the worker is idle, which a stuck one never is.
    workerOf(this.#model).terminate();
  }

  #inTurn<T>(work: () => Promise<T>): Promise<T> {
    const result = this.#turn.then(() => {
      this.#closing.signal.throwIfAborted();
      return work();
    });
    this.#turn = result.catch(() => {});
    return result;
  }

  #newEngine(graph: WordGraph): KaldiRecognizer {
    const sentences = this.#words.has(OTHER_SPEECH)
      ? [...showingPairs(graph), OTHER_SPEECH]
      : showingPairs(graph);
    const list = this.graph === 'fixed' ? undefined : JSON.stringify(sentences);
    const engine = new this.#model.KaldiRecognizer(SAMPLE_RATE, list);
    engine.setWords(true);
    return engine;
  }

  /** Puts the question and waits for so many answers. An engine that fails is given up, lest it answer later. */
  async #ask(engine: KaldiRecognizer, answers: number, question: () => void): Promise<Message[]> {
    const late = 'Vosk does not answer. Start it again; if that does not help, choose another model.';
    const failed = 'Vosk failed with this model. Choose another one or use the built-in ear.';
    const got: Message[] = [];
    try {
      return await within(this.#timeoutMs, late, this.#closing.signal, (resolve, reject, stop) => {
        const take = (event: Event) => {
          const message = Message.safeParse((event as CustomEvent).detail);
          if (!message.success) reject(new Error(failed));
          else if (got.push(message.data) === answers) resolve(got);
        };
        for (const kind of ['result', 'partialresult', 'error']) {
          engine.addEventListener(kind, take, { signal: stop });
        }
        question();
      });
    } catch (error) {
      engine.remove();
      this.#listening = null;
      throw error;
    }
  }
}

const NOTHING = { text: null, rejected: null, confidence: 0, alternatives: [], words: [] } as const;

/** @param before samples the engine was given before this utterance: it counts its times through. */
function judge(graph: WordGraph, messages: Message[], before: number, length: number): Omit<Heard, 'ms'> {
  // The engine may end a sentence by itself in the middle of an utterance, and gives empty results as well.
  const spoken = messages.flatMap((message) =>
    message.event === 'result' ? (message.result.result ?? []) : [],
  );
  if (spoken.length === 0) return { ...NOTHING, rejected: 'noise', from: 0, to: length };
  const sample = (seconds: number) =>
    Math.min(length, Math.max(0, Math.round(seconds * SAMPLE_RATE) - before));
  const where = { from: sample(spoken[0]!.start), to: sample(spoken.at(-1)!.end) };
  // The library's list is no fence: it may give any order of the list's words.
  const words = spoken.map(({ word }) => word);
  if (!accepts(graph, words)) return { ...NOTHING, ...where, rejected: 'unknown' };
  return {
    ...NOTHING,
    ...where,
    text: words.join(' '),
    confidence: Math.min(1, ...spoken.map(({ conf }) => conf)),
    words: spoken.map(({ word, conf }) => ({ word, confidence: Math.min(1, conf) })),
  };
}

/** @throws Error with a sentence saying why it cannot be had. */
export async function fetchModel(
  address: string,
  { signal, onProgress }: Pick<VoskOptions, 'signal' | 'onProgress'>,
): Promise<Blob> {
  const where = `The Vosk model could not be fetched from ${address}`;
  let response: Response;
  try {
    response = await fetch(address, { signal: signal ?? null });
  } catch (error) {
    signal?.throwIfAborted();
    throw new Error(`${where}. Is there a network? A model file on this device can be chosen instead.`, {
      cause: error,
    });
  }
  if (!response.ok || !response.body) {
    throw new Error(`${where}: the server says ${response.status}. Check the address.`);
  }
  const all = Number(response.headers.get('content-length')) || null;
  let got = 0;
  const counted = response.body.pipeThrough(
    new TransformStream<Uint8Array<ArrayBuffer>, Uint8Array<ArrayBuffer>>({
      transform(piece, out) {
        got += piece.length;
        onProgress?.(got, all);
        out.enqueue(piece);
      },
    }),
  );
  return new Response(counted).blob().catch((cause) => {
    signal?.throwIfAborted();
    throw new Error(`${where}: the connection broke off. Try again.`, { cause });
  });
}

/** Waits until the model is ready to make recognisers. */
function loaded(model: Model, timeoutMs: number, signal: AbortSignal | undefined): Promise<void> {
  const wrong =
    'The Vosk model cannot be loaded: its files do not fit together. Fetch it once more or choose another.';
  const slow = `The Vosk model was not ready after ${timeoutMs / 1000} seconds. Choose a smaller one, or close other apps.`;
  return within(timeoutMs, slow, signal, (resolve, reject, stop) => {
    model.addEventListener('load', () => resolve(), { signal: stop });
    model.on('error', (message) => {
      // For most faults the library gives no reason.
      const reason = 'error' in message && message.error ? ` It says: ${message.error}` : '';
      reject(new Error(`${wrong}${reason}`));
    });
    workerOf(model).addEventListener(
      'error',
      () =>
        reject(new Error('The browser does not let Vosk start. Use a current browser or the built-in ear.')),
      { signal: stop },
    );
  });
}

/** A promise that is over after `ms` at the latest: the library forgets to answer. `stop` ends its listeners. */
function within<T>(
  ms: number,
  late: string,
  signal: AbortSignal | undefined,
  work: (resolve: (value: T) => void, reject: (error: unknown) => void, stop: AbortSignal) => void,
): Promise<T> {
  const over = new AbortController();
  return new Promise<T>((resolve, reject) => {
    const timer = setTimeout(() => reject(new Error(late)), ms);
    over.signal.addEventListener('abort', () => clearTimeout(timer));
    signal?.addEventListener('abort', () => reject(signal.reason), { signal: over.signal });
    work(resolve, reject, over.signal);
  }).finally(() => over.abort());
}

/** The library hides its worker, and has no other way to end one that is stuck. */
function workerOf(model: Model): Worker {
  return Reflect.get(model, 'worker') as Worker;
}

/** The library's copies of models on this device, which it never clears away and all of which it reads at each start. */
async function forgetCopies(): Promise<void> {
  const [database, store] = ['/vosk', 'FILE_DATA'];
  const known = await indexedDB.databases();
  if (!known.some(({ name }) => name === database)) return;
  await new Promise<void>((resolve, reject) => {
    const opening = indexedDB.open(database);
    opening.onerror = reject;
    opening.onsuccess = () => {
      const db = opening.result;
      const clearing = db.objectStoreNames.contains(store) ? db.transaction(store, 'readwrite') : null;
      clearing?.objectStore(store).clear();
      // Closes when the clearing is done.
      db.close();
      if (clearing) clearing.oncomplete = clearing.onabort = () => resolve();
      else resolve();
    };
  });
}
