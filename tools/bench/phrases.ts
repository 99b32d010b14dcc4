// How many phrases are recognised exactly: those of every state of both demo engines, clean, by each built-in voice and each
// voice of festival that is installed.
// Every sentence of the short lists (up to 60), and of the long ones as many as it takes to say each pair of neighbouring
// words; each once, in the longest list that has it.
// Usage: npm run bench:phrases -- [--every N] [OTHER-EAR.safetensors]
import { readFileSync } from 'node:fs';
import { cpus } from 'node:os';
import { parseArgs } from 'node:util';
import { readModel } from '../../src/hearing/network.ts';
import { StrictEar } from '../../src/hearing/strict.ts';
import { graphFor } from '../../src/phrases/vocabulary.ts';
import {
  type Arc,
  countSentences,
  outgoing,
  sentencesOf,
  type WordGraph,
} from '../../src/phrases/wordgraph.ts';
import { goingOn } from '../../src/procedure/fold.ts';
import { BUILT_IN_VOICES } from '../../src/speaking/flite.ts';
import { demoSheets } from '../../src/trade/demos.ts';
import { fullLexicon } from '../lexicon.ts';
import { everyState } from '../plan.ts';
import { synthesise } from '../speak.ts';
import { festivalVoices, sayWithFestival } from './festival.ts';

const WHOLE = 60;
const { values, positionals } = parseArgs({ options: { every: { type: 'string' } }, allowPositionals: true });
const MODEL = positionals[0] ?? new URL('../../models/ear.safetensors', import.meta.url);
/** Only each so-manieth sentence is tried; left out: all. */
const EVERY = Number(values.every ?? 1);

/** Sentences along the arcs of a graph, always along the arc that was used least, until every arc was used. */
function* cover(graph: WordGraph): Generator<string> {
  const out = outgoing(graph);
  const used = new Map<Arc, number>();
  const open = new Set(graph.arcs);
  for (let tries = 0; open.size > 0 && tries < 20 * graph.arcs.length; tries++) {
    const words: string[] = [];
    for (let at = 0; out[at]!.length > 0; ) {
      const arc = out[at]!.reduce((a, b) => ((used.get(b) ?? 0) < (used.get(a) ?? 0) ? b : a));
      used.set(arc, (used.get(arc) ?? 0) + 1);
      open.delete(arc);
      words.push(arc.word);
      at = arc.to;
    }
    yield words.join(' ');
  }
}

/** Every different list of both demo engines, the longest first: what is said in it is hardest to tell apart there. */
function lists(): { graph: WordGraph; count: number }[] {
  const found = new Map<string, WordGraph>();
  for (const sheet of demoSheets) {
    for (const moment of everyState(sheet).values()) {
      const graph = graphFor(moment.context, goingOn(moment));
      found.set(JSON.stringify(graph.arcs), graph);
    }
  }
  return [...found.values()]
    .map((graph) => ({ graph, count: countSentences(graph) }))
    .sort((a, b) => b.count - a.count);
}

/** Of each list the sentences with a pair of neighbouring words that was in no longer list; of short lists all new ones. */
function* trials(): Generator<{ graph: WordGraph; sentences: string[] }> {
  const pairs = new Set<string>();
  const said = new Set<string>();
  for (const { graph, count } of lists()) {
    const sentences: string[] = [];
    for (const sentence of count <= WHOLE ? sentencesOf(graph) : cover(graph)) {
      const words = ['', ...sentence.split(' '), ''];
      const fresh = words
        .slice(1)
        .map((word, k) => `${words[k]} ${word}`)
        .filter((pair) => !pairs.has(pair));
      if (said.has(sentence) || (count > WHOLE && fresh.length === 0)) continue;
      for (const pair of fresh) pairs.add(pair);
      said.add(sentence);
      sentences.push(sentence);
    }
    if (sentences.length > 0) yield { graph, sentences };
  }
}

const ear = new StrictEar(readModel(new Uint8Array(readFileSync(MODEL)).buffer), fullLexicon());
let nth = 0;
const tried = [...trials()].map(({ graph, sentences }) => ({
  graph,
  sentences: sentences.filter(() => nth++ % EVERY === 0),
}));
const all = [...new Set(tried.flatMap(({ sentences }) => sentences))];
const voices = new Map<string, (sentence: string) => Promise<Float32Array>>();
for (const voice of BUILT_IN_VOICES) voices.set(voice, (sentence) => synthesise(sentence, { voice }));
const festival = festivalVoices();
for (const voice of festival) {
  const say = sayWithFestival(voice, all);
  voices.set(`festival ${voice}`, async (sentence) => say(sentence));
}

const sums = new Map(
  [...voices.keys()].map((name) => [name, { said: 0, right: 0, wrong: 0, asked: 0, refused: 0 }]),
);
const misses = new Map<string, number>();
for (const { graph, sentences } of tried) {
  await ear.expect(graph);
  for (const sentence of sentences) {
    for (const [voice, say] of voices) {
      const speech = await say(sentence);
      const sound = new Float32Array(speech.length + 16_000);
      sound.set(speech, 8_000);
      const { text, rejected } = await ear.hear(sound);
      const sum = sums.get(voice)!;
      sum.said++;
      if (rejected === 'unsure') sum.asked++;
      else if (rejected !== null) sum.refused++;
      else if (text === sentence) sum.right++;
      else sum.wrong++;
      if (rejected === null && text === sentence) continue;
      const miss = `${voice}: ${sentence} → ${rejected ?? text}`;
      misses.set(miss, (misses.get(miss) ?? 0) + 1);
    }
  }
}

console.log(
  `${new Date().toISOString().slice(0, 10)}, ${cpus()[0]!.model}, Node ${process.version}; ${lists().length} different lists\n`,
);
console.log(
  '| voice | said | taken, exactly right | taken, wrong | asked | refused |\n|---|---|---|---|---|---|',
);
for (const [voice, { said, right, wrong, asked, refused }] of sums) {
  console.log(
    `| ${voice} | ${said} | ${right} (${((100 * right) / said).toFixed(1)} %) | ${wrong} | ${asked} | ${refused} |`,
  );
}
if (festival.length === 0) console.log('\nFestival is not installed here, so its voices are absent.');
console.log(
  `\nCommonest misses:\n${[...misses]
    .sort((a, b) => b[1] - a[1])
    .slice(0, 20)
    .map(([miss, times]) => `- ${miss} (${times})`)
    .join('\n')}`,
);
