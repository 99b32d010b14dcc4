// How fast hearing is on this machine, as a table for docs/hearing.md: share of real time, change of state, and the
// delay from the last sample of speech to the decision, part by part. Usage: npm run --silent bench:speed
import { readFileSync } from 'node:fs';
import { cpus } from 'node:os';
import { logMel } from '../../src/hearing/features.ts';
import { phoneGraph } from '../../src/hearing/graph.ts';
import { Listener } from '../../src/hearing/listener.ts';
import { NetworkStream, readModel } from '../../src/hearing/network.ts';
import { SAMPLE_RATE } from '../../src/hearing/recogniser.ts';
import { StrictEar } from '../../src/hearing/strict.ts';
import { countSentences, graphOf, type WordGraph } from '../../src/phrases/wordgraph.ts';
import { fullLexicon } from '../lexicon.ts';
import { readWav } from '../sound.ts';
import { markdown } from './hearing/report.ts';

const DATA = new URL('../../tests/data/hearing/', import.meta.url);
const bytes = readFileSync(new URL('../../models/ear.safetensors', import.meta.url));
const model = readModel(new Uint8Array(bytes).buffer);
const lexicon = fullLexicon();
const lines = (name: string) => readFileSync(new URL(name, DATA), 'utf8').trim().split('\n');
const phrases = lines('trade.txt');
const sounds = phrases.map((phrase) =>
  readWav(readFileSync(new URL(`trade/${phrase.replaceAll(' ', '-')}.wav`, DATA))),
);
const seconds = sounds.reduce((sum, sound) => sum + sound.length, 0) / SAMPLE_RATE;

/** Samples in one message of the microphone. */
const PIECE = 256;

/** A quiet room, about −75 dBFS. */
const hush = (length: number) => Float32Array.from({ length }, () => 3e-4 * (2 * Math.random() - 1));

const NUMBERS = 'one two three four five six seven eight nine ten eleven twelve'.split(' ');
const FEELS = ['drag okay', 'light', 'tight', 'loose', 'no go', 'good', 'too tight'];

/** Side, cylinder, two numbers, unit and feel: 252,000 sentences on shared states. */
function slotGraph(): WordGraph {
  const arcs = [
    ...['intake', 'exhaust', 'front', 'rear', 'left', 'right', 'alpha'].map((word) => ({
      from: 0,
      to: 1,
      word,
    })),
    ...NUMBERS.map((word) => ({ from: 1, to: 2, word })),
    ...NUMBERS.map((word) => ({ from: 2, to: 3, word })),
    ...NUMBERS.slice(0, 10).map((word) => ({ from: 3, to: 4, word })),
    ...['thou', 'hundredths', 'point'].map((word) => ({ from: 4, to: 5, word })),
    ...['light', 'tight', 'loose', 'okay', 'good', 'drag', 'go'].map((word) => ({ from: 5, to: 6, word })),
  ];
  return { states: 7, arcs, finals: [4, 5, 6] };
}

function listOf(count: number): WordGraph {
  const all = ['intake', 'exhaust'].flatMap((side) =>
    NUMBERS.flatMap((cylinder) =>
      NUMBERS.flatMap((gap) => FEELS.map((feel) => `${side} ${cylinder} ${gap} thou ${feel}`)),
    ),
  );
  return graphOf(all.slice(0, count));
}

const quantile = (values: readonly number[], q: number) =>
  values.toSorted((a, b) => a - b)[Math.round(q * (values.length - 1))]!;
const median = (values: readonly number[]) => quantile(values, 0.5);

/** Milliseconds that something takes: the median of so many times, the first (still uncompiled) ones left out. */
function time(work: () => void, times = 15): number {
  const taken: number[] = [];
  for (let i = 0; i < times + 3; i++) {
    const start = performance.now();
    work();
    if (i >= 3) taken.push(performance.now() - start);
  }
  return median(taken);
}

function shares() {
  const features = sounds.map(logMel);
  const hear = (graph: WordGraph) => {
    const ear = new StrictEar(model, lexicon);
    void ear.expect(graph);
    return () => sounds.map((sound) => ear.hear(sound));
  };
  const network = () => {
    for (const frames of features) {
      const stream = new NetworkStream(model);
      stream.push(frames);
      stream.tail();
    }
  };
  const percent = (ms: number) => `${((100 * ms) / 1000 / seconds).toFixed(1)} %`;
  return [
    ['features', percent(time(() => sounds.map(logMel), 5))],
    ['network, whole utterances', percent(time(network, 5))],
    ['all of it, list of 24 phrases', percent(time(hear(graphOf(phrases)), 5))],
    ['all of it, 252,000 sentences', percent(time(hear(slotGraph()), 5))],
    ['all of it, list of 2,000 phrases', percent(time(hear(listOf(2000)), 5))],
  ];
}

function stateChanges() {
  const change = (graph: WordGraph) => {
    const { nodes } = phoneGraph(graph, lexicon, model.units);
    const ms = time(() => phoneGraph(graph, lexicon, model.units)).toFixed(2);
    return [countSentences(graph).toLocaleString('en'), String(graph.arcs.length), String(nodes), `${ms} ms`];
  };
  return [change(listOf(40)), change(listOf(2000)), change(slotGraph())];
}

/** From the last sample of speech (above −40 dBFS) to the decision: sound waited for, and computing of the last piece. */
async function delays() {
  const ear = new StrictEar(model, lexicon);
  await ear.expect(graphOf(phrases));
  const waited: number[] = [];
  const computed: number[] = [];
  for (const sound of [...sounds, ...sounds]) {
    const recording = new Float32Array([...hush(SAMPLE_RATE), ...sound, ...hush(SAMPLE_RATE)]);
    let last = recording.length - 1;
    while (Math.abs(recording[last]!) < 0.01) last--;
    const listener = new Listener(ear);
    listener.open();
    for (let at = 0; at < recording.length; at += PIECE) {
      const start = performance.now();
      const ended = listener.push(recording.subarray(at, at + PIECE));
      if (ended.length === 0) continue;
      computed.push(performance.now() - start);
      waited.push(((at + PIECE - last) * 1000) / SAMPLE_RATE);
      break;
    }
  }
  const total = waited.map((ms, i) => ms + computed[i]!);
  const row = (name: string, values: number[]) => [
    name,
    ...[0.5, 0.95].map((q) => `${quantile(values, q).toFixed(0)} ms`),
  ];
  return [
    row('sound waited for, with the microphone’s pieces of 16 ms', waited),
    row('features, network and search of the last piece', computed),
    row('together', total),
  ];
}

console.log(
  `${cpus()[0]!.model}, one core, Node ${process.version}, ${new Date().toISOString().slice(0, 10)}\n`,
);
console.log(markdown(['Computing', 'share of real time'], shares()));
console.log(`\n${markdown(['Change of state: sentences', 'arcs', 'nodes', 'time'], stateChanges())}`);
console.log(`\n${markdown(['Delay from the last sample of speech', 'median', '95 %'], await delays())}`);
