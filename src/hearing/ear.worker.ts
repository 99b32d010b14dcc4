// The ear off the main thread: sound comes from the audio thread by a port, utterances go to the main thread.
import lexiconJson from '../../models/lexicon.json';
import type { WordGraph } from '../phrases/wordgraph.ts';
import type { EarFit, Study, Thresholds } from './fit.ts';
import { readLexicon } from './lexicon.ts';
import { type Level, Listener, type Utterance } from './listener.ts';
import { readModel } from './network.ts';
import { StrictEar } from './strict.ts';

/** From the main thread. `turn` counts up with every change of what is listened to. */
export type Request =
  | { readonly kind: 'load'; readonly model: ArrayBuffer }
  | { readonly kind: 'expect'; readonly turn: number; readonly graph: WordGraph }
  | { readonly kind: 'listen'; readonly turn: number; readonly on: boolean }
  | { readonly kind: 'fit'; readonly id: number; readonly fit: EarFit | null }
  | { readonly kind: 'study'; readonly id: number; readonly samples: Float32Array; readonly phrase: string }
  | { readonly kind: 'sound'; readonly port: MessagePort };

/** To the main thread. What belongs to an old turn comes too late to count. */
export type Report =
  | { readonly kind: 'loaded' }
  | { readonly kind: 'failed'; readonly reason: string }
  | { readonly kind: 'expected'; readonly turn: number; readonly fault: string | null }
  /** To `fit` or `study` of this id. */
  | { readonly kind: 'answer'; readonly id: number; readonly answer: Thresholds | Study }
  | { readonly kind: 'heard'; readonly turn: number; readonly utterance: Utterance }
  | { readonly kind: 'level'; readonly level: Level };

let ear: StrictEar | null = null;
let listener: Listener | null = null;
let turn = 0;
let listening = false;

self.addEventListener('message', ({ data }: MessageEvent<Request>) => {
  switch (data.kind) {
    case 'load':
      return load(data.model);
    case 'expect':
      return expect(data.turn, data.graph);
    case 'listen':
      turn = data.turn;
      listening = data.on;
      return restart();
    case 'fit':
      return report({ kind: 'answer', id: data.id, answer: ear!.fit(data.fit) });
    case 'study':
      return report({ kind: 'answer', id: data.id, answer: ear!.study(data.samples, data.phrase) });
    case 'sound':
      data.port.onmessage = ({ data: samples }: MessageEvent<Float32Array>) => hear(samples);
      return restart();
  }
});

function report(message: Report, transfer: Transferable[] = []): void {
  self.postMessage(message, { transfer });
}

const messageOf = (error: unknown) => (error instanceof Error ? error.message : String(error));

function load(model: ArrayBuffer): void {
  try {
    ear = new StrictEar(readModel(model), readLexicon(lexiconJson));
    listener = new Listener(ear);
    report({ kind: 'loaded' });
  } catch (error) {
    report({ kind: 'failed', reason: messageOf(error) });
  }
}

async function expect(newTurn: number, graph: WordGraph): Promise<void> {
  turn = newTurn;
  restart();
  const fault = await ear!.expect(graph).then(() => null, messageOf);
  report({ kind: 'expected', turn: newTurn, fault });
}

/** A phrase half heard belongs to what was listened to before. */
function restart(): void {
  listener?.close();
  if (listening) listener?.open();
}

function hear(samples: Float32Array): void {
  if (!listener || !listening) return;
  for (const utterance of listener.push(samples)) {
    report({ kind: 'heard', turn, utterance }, [utterance.samples.buffer]);
  }
  report({ kind: 'level', level: listener.level });
}
