// What was said in sound files, from a list of phrases or from what may be said at a step: one JSON line for each file.
// Usage: npm run --silent hear -- --phrases LIST.txt [--engine strict|vosk [--model FOLDER]] MANIFEST.tsv
//        npm run --silent hear -- [--sheet F] --state S [--engine strict|vosk [--model FOLDER]] MANIFEST.tsv
//        npm run --silent hear -- [--sheet F] --states
import { readFileSync } from 'node:fs';
import { parseArgs } from 'node:util';
import { type Lexicon, unpronounceable } from '../src/hearing/lexicon.ts';
import { readModel } from '../src/hearing/network.ts';
import type { Recogniser } from '../src/hearing/recogniser.ts';
import { StrictEar } from '../src/hearing/strict.ts';
import { graphFor } from '../src/phrases/vocabulary.ts';
import { countSentences, graphOf, type WordGraph } from '../src/phrases/wordgraph.ts';
import { goingOn, type Moment } from '../src/procedure/fold.ts';
import {
  locate,
  print,
  Refusal,
  readManifest,
  readText,
  reasonOf,
  run,
  sentenceOf,
  sheetFrom,
} from './files.ts';
import { fullLexicon } from './lexicon.ts';
import { everyState } from './plan.ts';
import { readWav } from './sound.ts';

const USAGE = `Usage: npm run --silent hear -- --phrases LIST.txt [--engine strict|vosk [--model FOLDER]] MANIFEST.tsv
       npm run --silent hear -- [--sheet F] --state S [--engine strict|vosk [--model FOLDER]] MANIFEST.tsv
       npm run --silent hear -- [--sheet F] --states`;
const MODEL = new URL('../models/ear.safetensors', import.meta.url);

async function main(): Promise<number> {
  const args = readArguments();
  if (args.states) {
    for (const [name, moment] of everyState(sheetFrom(args.sheet))) {
      process.stdout.write(`${name}\t${countSentences(graphOfState(moment))}\n`);
    }
    return 0;
  }
  const lexicon = fullLexicon();
  const phrases = args.phrases === undefined ? null : readPhrases(args.phrases, lexicon);
  const graph = phrases ? graphOf(phrases.keys()) : stateNamed(args);
  const files = readManifest(args.manifest!);
  const ear = await openEngine(args.engine, args.model, lexicon);
  let faults = 0;
  try {
    await ear.expect(graph);
    for (const file of files) {
      const line = await hearFile(ear, file, (words) => phrases?.get(words) ?? words);
      if ('error' in line) faults++;
      print(line);
    }
  } catch (error) {
    throw new Refusal(sentenceOf(error));
  } finally {
    ear.close();
  }
  return faults > 0 ? 2 : 0;
}

function readArguments() {
  try {
    const { values, positionals } = parseArgs({
      options: {
        phrases: { type: 'string' },
        sheet: { type: 'string' },
        state: { type: 'string' },
        states: { type: 'boolean', default: false },
        engine: { type: 'string', default: 'strict' },
        model: { type: 'string' },
      },
      allowPositionals: true,
    });
    const [manifest, ...more] = positionals;
    const lists =
      [values.phrases, values.state].filter((each) => each !== undefined).length + Number(values.states);
    if (lists === 0) throw new Error('Which phrases? Give a list, or a state.');
    if (lists > 1) throw new Error('Give one of --phrases, --state and --states.');
    if (!values.states && manifest === undefined) throw new Error('Which sound files? Give a manifest.');
    if (more.length > 0) throw new Error(`One manifest at a time; "${more[0]}" is too much.`);
    return { ...values, manifest };
  } catch (error) {
    throw new Refusal(`${sentenceOf(error)}\n${USAGE}`);
  }
}

const graphOfState = (moment: Moment) => graphFor(moment.context, goingOn(moment));

function stateNamed({ sheet, state }: { sheet?: string | undefined; state?: string | undefined }): WordGraph {
  const moment = everyState(sheetFrom(sheet)).get(state!);
  if (!moment) throw new Refusal(`There is no state "${state}" on this sheet; --states lists them.`);
  return graphOfState(moment);
}

/**
 * A list of phrases, one a line; blank lines are ignored.
 * @returns the words of each, divided by single spaces, with the first line that has them
 */
function readPhrases(path: string, lexicon: Lexicon): Map<string, string> {
  const phrases = new Map<string, string>();
  readText(path)
    .split('\n')
    .forEach((line, i) => {
      const phrase = line.replace(/\r$/, '');
      if (phrase.trim() === '') return;
      const where = `${path}, line ${i + 1}`;
      const words = phrase.split(' ').filter((word) => word !== '');
      const [unknown] = unpronounceable(lexicon, words);
      if (unknown !== undefined && /[^a-z'.-]/.test(unknown)) {
        throw new Refusal(`${where}: "${phrase}" must be lower-case words and spaces, numbers spelt out.`);
      }
      if (unknown !== undefined) throw new Refusal(`${where}: no pronunciation is known for "${unknown}".`);
      const said = words.join(' ');
      if (!phrases.has(said)) phrases.set(said, phrase);
    });
  if (phrases.size === 0) throw new Refusal(`${path} holds no phrases.`);
  return phrases;
}

async function openEngine(name: string, model: string | undefined, lexicon: Lexicon): Promise<Recogniser> {
  if (name === 'strict') {
    const bytes = readFileSync(MODEL);
    return new StrictEar(readModel(new Uint8Array(bytes).buffer), lexicon);
  }
  if (name === 'vosk') {
    const { findModel, openVoskInBrowser } = await import('./vosk-host.ts');
    try {
      return await openVoskInBrowser(findModel(model === undefined ? undefined : locate(model)));
    } catch (error) {
      throw new Refusal(sentenceOf(error));
    }
  }
  throw new Refusal(`There is no engine "${name}": it is strict or vosk.\n${USAGE}`);
}

async function hearFile(ear: Recogniser, file: string, asWritten: (words: string) => string) {
  let bytes: Uint8Array;
  try {
    bytes = readFileSync(locate(file));
  } catch (error) {
    return { file, error: `The file cannot be read: ${reasonOf(error)}.` };
  }
  try {
    const { text, confidence, rejected, ms } = await ear.hear(readWav(bytes));
    return {
      file,
      heard: rejected === null && text !== null ? asWritten(text) : null,
      confidence: Number(confidence.toFixed(4)),
      rejected,
      ms: Math.round(ms),
    };
  } catch (error) {
    return { file, error: sentenceOf(error) };
  }
}

await run(main);
