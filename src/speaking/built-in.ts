// The voice that works everywhere and without a network: the app's own synthesiser, in a worker.
import { z } from 'zod';
import { type BuiltInVoice, type Manner as SynthesisManner, VOICE_RATE } from './flite.ts';
import type { Request } from './flite.worker.ts';
import { play } from './playback.ts';
import { PreparedSentences } from './prepared.ts';
import { type Manner, type Saying, untilAborted, type Voice, within } from './voice.ts';

export interface Progress {
  /** Bytes. */
  readonly loaded: number;
  /** Bytes; null where the server does not say. */
  readonly total: number | null;
}

const SYNTHESIS_LIMIT = 5_000; // milliseconds; a long sentence takes 0.1 s

/** Silent until loaded; loads when first needed. */
export function builtInVoice(
  context: AudioContext,
  voice: BuiltInVoice,
  onProgress: (progress: Progress) => void,
): Voice {
  const synthesiser = new SynthesiserInWorker();
  const prepared = new PreparedSentences<readonly [text: string, manner: SynthesisManner]>(([text, manner]) =>
    within(synthesiser.synthesise(text, manner), SYNTHESIS_LIMIT, 'The built-in voice does not answer.'),
  );
  const sentence = (text: string, { rate }: Manner) => [text, { voice, rate }] as const;
  let loading: Promise<void> | null = null;

  return {
    name: `built-in ${voice}`,
    load() {
      loading ??= synthesiser.load(onProgress);
      return loading;
    },
    async say(text, saying: Saying) {
      const samples = await untilAborted(prepared.get(sentence(text, saying)), saying.signal);
      if (samples !== undefined) await play(context, samples, { ...saying, sampleRate: VOICE_RATE });
    },
    prepare: (texts, manner) => {
      if (loading === null) return;
      const wanted = texts.map((text) => sentence(text, manner));
      loading.then(
        () => prepared.prepare(wanted),
        () => {},
      );
    },
    close: () => synthesiser.close(),
  };
}

const Reply = z.discriminatedUnion('kind', [
  z.object({ kind: z.literal('progress'), id: z.number(), loaded: z.number(), total: z.number().nullable() }),
  z.object({ kind: z.literal('loaded'), id: z.number() }),
  z.object({
    kind: z.literal('synthesised'),
    id: z.number(),
    samples: z.instanceof(Float32Array<ArrayBuffer>),
  }),
  z.object({ kind: z.literal('failed'), id: z.number(), reason: z.string() }),
]);
type Reply = z.infer<typeof Reply>;
type Answer = Exclude<Reply, { kind: 'progress' | 'failed' }>;
type Question = { kind: 'load' } | { kind: 'synthesise'; text: string; manner: SynthesisManner };

/** Hides the worker's messages behind promises. */
class SynthesiserInWorker {
  readonly #worker = new Worker(new URL('./flite.worker.ts', import.meta.url), { type: 'module' });
  readonly #waiting = new Map<
    number,
    { answered: (answer: Answer) => void; failed: (reason: Error) => void }
  >();
  #onProgress: (progress: Progress) => void = () => {};
  #lastId = 0;

  constructor() {
    this.#worker.addEventListener('message', ({ data }) => this.#receive(Reply.parse(data)));
    this.#worker.addEventListener('error', () => this.#failAll('The built-in voice could not start.'));
  }

  async load(onProgress: (progress: Progress) => void): Promise<void> {
    this.#onProgress = onProgress;
    await this.#ask({ kind: 'load' });
  }

  async synthesise(text: string, manner: SynthesisManner): Promise<Float32Array<ArrayBuffer>> {
    const answer = await this.#ask({ kind: 'synthesise', text, manner });
    if (answer.kind !== 'synthesised') throw new Error('The built-in voice answered something else.');
    return answer.samples;
  }

  close(): void {
    this.#worker.terminate();
    this.#failAll('The built-in voice was closed.');
  }

  #ask(question: Question): Promise<Answer> {
    const id = ++this.#lastId;
    const request: Request = { ...question, id };
    this.#worker.postMessage(request);
    return new Promise((answered, failed) => this.#waiting.set(id, { answered, failed }));
  }

  #receive(reply: Reply): void {
    if (reply.kind === 'progress') {
      this.#onProgress({ loaded: reply.loaded, total: reply.total });
      return;
    }
    const waiting = this.#waiting.get(reply.id);
    this.#waiting.delete(reply.id);
    if (reply.kind === 'failed') waiting?.failed(new Error(reply.reason));
    else waiting?.answered(reply);
  }

  #failAll(reason: string): void {
    for (const { failed } of this.#waiting.values()) failed(new Error(reason));
    this.#waiting.clear();
  }
}
