// The ear as the rest of the app sees it: say what may be said, listen, be told what was heard.
// Everything heavy runs in a worker; this is the bridge to it.
import modelUrl from '../../models/ear.safetensors?url';
import type { WordGraph } from '../phrases/wordgraph.ts';
import type { Report, Request } from './ear.worker.ts';
import type { EarFit, Study, Thresholds } from './fit.ts';
import type { Level, Utterance } from './listener.ts';
import { type Microphone, type MicrophoneFault, openMicrophone } from './microphone.ts';
import type { Heard, Recogniser } from './recogniser.ts';

/** Which ear this is: the name of its file, which in the built app holds a hash of its contents. */
export const EAR = modelUrl.slice(modelUrl.lastIndexOf('/') + 1);

export interface EarOptions {
  /** Stops the opening; afterwards use `close`. */
  readonly signal?: AbortSignal | undefined;
  /** Bytes of the model fetched so far and in all (null where the server does not say). */
  readonly onProgress?: (got: number, all: number | null) => void;
  /** Which microphone; left out, the system's own choice. */
  readonly deviceId?: string | undefined;
}

export interface Ear {
  /** Sets what may be said from now on; a phrase half heard is dropped. Rejects naming words without pronunciation. */
  expect(graph: WordGraph): Promise<void>;
  /** Half duplex: while not listening, nothing is kept of the sound and nothing is reported. It begins not listening. */
  listen(on: boolean): void;
  /** One utterance each time, with its samples (mono at SAMPLE_RATE).  @returns what ends the calls. */
  onHeard(tell: (heard: Heard, samples: Float32Array) => void): () => void;
  /** About sixty times a second while listening. */
  onLevel(tell: (level: Level) => void): () => void;
  /** The microphone went away: it listens no more, and hears nothing until `setDevice`. */
  onLost(tell: (fault: MicrophoneFault) => void): () => void;
  /** Changes the microphone, or opens the same again after it was lost. Rejects with a MicrophoneFault. */
  setDevice(deviceId?: string): Promise<void>;
  /** Another engine for what was said; the end of speech stays the strict ear's. null: the strict ear alone. */
  use(engine: Recogniser | null): Promise<void>;
  /** Whose voice the strict ear is fitted to from the next utterance on; null: to nobody's.  @returns what holds then */
  fit(fit: EarFit | null): Promise<Thresholds>;
  /** What the sound of a known phrase tells of who said it. */
  study(samples: Float32Array, phrase: string): Promise<Study>;
  close(): void;
}

/**
 * Fetches the model, starts the worker and opens the microphone.
 * @throws MicrophoneFault; Error with a sentence about the model; the signal's reason if it was aborted.
 */
export async function openEar({ signal, onProgress, deviceId }: EarOptions = {}): Promise<Ear> {
  const model = await fetchModel(signal, onProgress);
  const worker = new Worker(new URL('./ear.worker.ts', import.meta.url), { type: 'module' });
  const ear = new WorkerEar(worker);
  try {
    await ear.load(model, signal);
    await ear.setDevice(deviceId, signal);
    return ear;
  } catch (error) {
    ear.close();
    throw error;
  }
}

class WorkerEar implements Ear {
  readonly #worker: Worker;
  readonly #heard = new Set<(heard: Heard, samples: Float32Array) => void>();
  readonly #level = new Set<(level: Level) => void>();
  readonly #lost = new Set<(fault: MicrophoneFault) => void>();
  readonly #waiting = new Map<number, (fault: string | null) => void>();
  readonly #asked: ((answer: Thresholds | Study) => void)[] = [];
  #turn = 0;
  #listening = false;
  #graph: WordGraph | null = null;
  #engine: Recogniser | null = null;
  #microphone: Microphone | null = null;

  constructor(worker: Worker) {
    this.#worker = worker;
    worker.addEventListener('message', ({ data }: MessageEvent<Report>) => this.#take(data));
  }

  load(model: ArrayBuffer, signal?: AbortSignal): Promise<void> {
    return new Promise((resolve, reject) => {
      signal?.addEventListener('abort', () => reject(signal.reason), { once: true });
      this.#worker.addEventListener('error', () => reject(new Error('The ear could not be started.')), {
        once: true,
      });
      this.#worker.addEventListener('message', ({ data }: MessageEvent<Report>) => {
        if (data.kind === 'loaded') resolve();
        if (data.kind === 'failed') reject(new Error(data.reason));
      });
      this.#send({ kind: 'load', model }, [model]);
    });
  }

  async expect(graph: WordGraph): Promise<void> {
    const turn = ++this.#turn;
    this.#graph = graph;
    const fault = await new Promise<string | null>((resolve) => {
      this.#waiting.set(turn, resolve);
      this.#send({ kind: 'expect', turn, graph });
    });
    if (fault !== null) throw new Error(fault);
    await this.#engine?.expect(graph);
  }

  listen(on: boolean): void {
    if (on === this.#listening) return;
    this.#listening = on;
    this.#send({ kind: 'listen', turn: ++this.#turn, on });
  }

  onHeard(tell: (heard: Heard, samples: Float32Array) => void): () => void {
    return subscribe(this.#heard, tell);
  }

  onLevel(tell: (level: Level) => void): () => void {
    return subscribe(this.#level, tell);
  }

  onLost(tell: (fault: MicrophoneFault) => void): () => void {
    return subscribe(this.#lost, tell);
  }

  async setDevice(deviceId?: string, signal?: AbortSignal): Promise<void> {
    this.#microphone?.close();
    this.#microphone = null;
    const { port1: sink, port2: port } = new MessageChannel();
    const onLost = (fault: MicrophoneFault) => {
      this.#microphone = null;
      // Levels and a phrase that are still on their way from the worker come too late.
      this.listen(false);
      for (const tell of this.#lost) tell(fault);
    };
    this.#microphone = await openMicrophone({ sink, deviceId, signal, onLost });
    this.#send({ kind: 'sound', port }, [port]);
  }

  async use(engine: Recogniser | null): Promise<void> {
    if (this.#graph) await engine?.expect(this.#graph);
    this.#engine = engine;
  }

  fit(fit: EarFit | null): Promise<Thresholds> {
    return this.#ask((id) => ({ kind: 'fit', id, fit })) as Promise<Thresholds>;
  }

  study(samples: Float32Array, phrase: string): Promise<Study> {
    return this.#ask((id) => ({ kind: 'study', id, samples, phrase })) as Promise<Study>;
  }

  close(): void {
    this.#microphone?.close();
    this.#worker.terminate();
    for (const settle of this.#waiting.values()) settle('The ear was closed.');
    this.#waiting.clear();
  }

  #ask(request: (id: number) => Request): Promise<Thresholds | Study> {
    return new Promise((resolve) => this.#send(request(this.#asked.push(resolve) - 1)));
  }

  #send(request: Request, transfer: Transferable[] = []): void {
    this.#worker.postMessage(request, transfer);
  }

  #take(report: Report): void {
    switch (report.kind) {
      case 'expected':
        this.#waiting.get(report.turn)?.(report.fault);
        this.#waiting.delete(report.turn);
        return;
      case 'answer':
        this.#asked[report.id]?.(report.answer);
        return;
      case 'heard':
        void this.#tell(report.turn, report.utterance);
        return;
      case 'level':
        if (this.#listening) for (const tell of this.#level) tell(report.level);
    }
  }

  /** Reports an utterance unless something else is listened to by now. */
  async #tell(turn: number, { samples, heard }: Utterance): Promise<void> {
    const current = () => turn === this.#turn && this.#listening;
    if (!current()) return;
    // What is no speech to the strict ear need not trouble another engine.
    const other = heard.rejected === 'noise' ? null : this.#engine;
    const said = other ? await other.hear(samples) : heard;
    if (current()) for (const tell of this.#heard) tell(said, samples);
  }
}

function subscribe<T>(listeners: Set<T>, listener: T): () => void {
  listeners.add(listener);
  return () => listeners.delete(listener);
}

async function fetchModel(
  signal: AbortSignal | undefined,
  onProgress: EarOptions['onProgress'],
): Promise<ArrayBuffer> {
  const failed = (why: unknown) =>
    new Error(
      `The ear's model could not be fetched (${why}): reload the page when there is a network. Touch and keys still work.`,
    );
  const response = await fetch(modelUrl, { signal: signal ?? null }).catch((error) => {
    throw signal?.aborted ? error : failed('no answer');
  });
  if (!response.ok || response.body === null) throw failed(response.status);
  // The length of a compressed answer is not that of what comes out of it.
  const length = response.headers.has('content-encoding') ? null : response.headers.get('content-length');
  const all = length === null ? null : Number(length);
  let got = 0;
  const counter = new TransformStream<Uint8Array<ArrayBuffer>, Uint8Array<ArrayBuffer>>({
    transform(chunk, controller) {
      got += chunk.length;
      onProgress?.(got, all);
      controller.enqueue(chunk);
    },
  });
  return new Response(response.body.pipeThrough(counter)).arrayBuffer();
}
