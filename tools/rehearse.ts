// A whole session from sound, without a browser: sound files, or answers spoken by the built-in voice. Everything goes
// through the same end of speech, recogniser, phrases and machine as in the app; no answer reaches the machine as text.
// Usage: npm run --silent rehearse -- [--sheet F] [--out FILE] SCRIPT.tsv
//        npm run --silent rehearse -- --demo [--sheet F] [--voice V] [--noise WAV --snr DB] [--out FILE]
import { readFileSync, writeFileSync } from 'node:fs';
import { parseArgs } from 'node:util';
import { Listener } from '../src/hearing/listener.ts';
import { readModel } from '../src/hearing/network.ts';
import { type Heard, SAMPLE_RATE } from '../src/hearing/recogniser.ts';
import { StrictEar } from '../src/hearing/strict.ts';
import { type KeptEntry, openingEvent, recordOf, toKept } from '../src/kept.ts';
import type { LogEvent } from '../src/logbook/event.ts';
import { writeRecord } from '../src/logbook/record.ts';
import { type Book, inOrder, isSigned } from '../src/procedure/book.ts';
import { placeName } from '../src/procedure/fold.ts';
import { Session } from '../src/session.ts';
import { BUILT_IN_VOICES, type BuiltInVoice } from '../src/speaking/flite.ts';
import type { Sheet } from '../src/trade/sheet.ts';
import { locate, print, Refusal, readManifest, reasonOf, run, sentenceOf, sheetFrom } from './files.ts';
import { fullLexicon } from './lexicon.ts';
import { Mechanic } from './mechanic.ts';
import { mixed } from './noise.ts';
import { rehearsal } from './plan.ts';
import { readWav } from './sound.ts';
import { synthesise } from './speak.ts';

const USAGE = `Usage: npm run --silent rehearse -- [--sheet F] [--out FILE] SCRIPT.tsv
       npm run --silent rehearse -- --demo [--sheet F] [--voice ${BUILT_IN_VOICES.join('|')}] [--noise WAV --snr DB] [--out FILE]`;
const MODEL = new URL('../models/ear.safetensors', import.meta.url);
const SESSION = 'rehearsal';
/** Each utterance of the stated clock is so many seconds after the one before. */
const SECONDS_APART = 10;
/** A mechanic who is not understood so often at one place gives up. */
const PATIENCE = 8;
/** Utterances of a session that comes to no end. */
const LONGEST = 3000;
const LEAD = new Float32Array(0.5 * SAMPLE_RATE);
const QUIET = new Float32Array(1.3 * SAMPLE_RATE);
const CHUNK = SAMPLE_RATE / 10;

/** A session with its ear, fed with sound. */
class Rehearsal {
  readonly kept: LogEvent<KeptEntry>[];
  readonly session: Session;
  readonly #ear: StrictEar;
  readonly #listener: Listener;
  #clock: number;

  constructor(sheet: Sheet) {
    const opening = rehearsal(sheet);
    this.#clock = Date.parse(opening.openedAt);
    this.kept = [openingEvent(SESSION, opening)];
    this.session = new Session({
      opening,
      keep: async (event) => void this.kept.push(toKept(SESSION, event)),
      now: () => `${new Date(this.#clock).toISOString().slice(0, 19)}Z`,
    });
    this.#ear = new StrictEar(readModel(new Uint8Array(readFileSync(MODEL)).buffer), fullLexicon());
    this.#listener = new Listener(this.#ear);
  }

  /** Everything heard in a sound, each with the state that it was heard in. The ear is shut before and after. */
  async play(
    sound: Float32Array,
  ): Promise<{ state: string; heard: Heard | null; accepted: boolean; readBack: string }[]> {
    const lines = [];
    this.#clock += SECONDS_APART * 1000;
    await this.#ear.expect(this.session.graph);
    this.#listener.open();
    for (const part of [LEAD, sound, QUIET]) {
      for (let at = 0; at < part.length; at += CHUNK) {
        for (const { heard } of this.#listener.push(part.subarray(at, at + CHUNK))) {
          const state = placeName(this.session.moment);
          const { accepted, readBack } = await this.session.hear(heard);
          lines.push({ state, heard, accepted, readBack });
          await this.#ear.expect(this.session.graph);
        }
      }
    }
    this.#listener.close();
    return lines.length > 0
      ? lines
      : [{ state: placeName(this.session.moment), heard: null, accepted: false, readBack: '' }];
  }
}

async function main(): Promise<number> {
  const { values, positionals } = options();
  const rehearsed = new Rehearsal(sheetFrom(values.sheet));
  const faults = values.demo ? await demo(rehearsed, values) : await script(rehearsed, positionals);
  const { session, kept } = rehearsed;
  const record = recordOf(SESSION, session.book, kept);
  // For programs, the last line; who looks on has no use for 30 kB of it.
  if (!process.stdout.isTTY)
    print({ record: { signed: session.isSigned, valves: record.valves, events: record.events } });
  if (values.out !== undefined) save(values.out, writeRecord(record));
  console.error(summary(session.book, values.out));
  if (faults > 0) return 2;
  return session.isSigned ? 0 : 1;
}

function options() {
  try {
    const { values, positionals } = parseArgs({
      options: {
        sheet: { type: 'string' },
        out: { type: 'string' },
        demo: { type: 'boolean', default: false },
        voice: { type: 'string', default: 'slt' },
        noise: { type: 'string' },
        snr: { type: 'string' },
      },
      allowPositionals: true,
    });
    if (values.demo === positionals.length > 0) throw new Error('Give either a script or --demo.');
    if (positionals.length > 1) throw new Error(`One script at a time; "${positionals[1]}" is too much.`);
    if (!BUILT_IN_VOICES.includes(values.voice as BuiltInVoice))
      throw new Error(`There is no voice "${values.voice}".`);
    if ((values.noise === undefined) !== (values.snr === undefined))
      throw new Error('--noise and --snr go together.');
    if (values.snr !== undefined && (values.snr.trim() === '' || !Number.isFinite(Number(values.snr))))
      throw new Error(`"${values.snr}" is no number of dB.`);
    return { values, positionals };
  } catch (error) {
    throw new Refusal(`${sentenceOf(error)}\n${USAGE}`);
  }
}

/** The sound files of a script, one after the other. @returns how many could not be read */
async function script(rehearsed: Rehearsal, [path]: string[]): Promise<number> {
  let faults = 0;
  for (const file of readManifest(path!)) {
    let sound: Float32Array;
    try {
      sound = readWav(readFileSync(locate(file)));
    } catch (error) {
      faults++;
      print({ file, error: reasonOf(error) });
      continue;
    }
    for (const line of await rehearsed.play(sound)) print(asLine(file, line));
  }
  return faults;
}

/** Every answer spoken by the built-in voice, in noise if wanted, until signed or out of patience. */
async function demo(
  rehearsed: Rehearsal,
  { voice, noise, snr }: { voice: string; noise?: string | undefined; snr?: string | undefined },
): Promise<number> {
  const background = noise === undefined ? null : noiseFrom(noise);
  const mechanic = new Mechanic();
  const { session } = rehearsed;
  let entries = 0;
  for (let nth = 0, tries = 0; tries < PATIENCE && nth < LONGEST; nth++, tries++) {
    const words = mechanic.next(session.book, session.going);
    if (words === null) return 0;
    const spoken = await synthesise(words, { voice: voice as BuiltInVoice });
    const sound = background
      ? mixed(spoken, background, Number(snr), nth * 3 * SAMPLE_RATE, SAMPLE_RATE)
      : spoken;
    for (const line of await rehearsed.play(sound)) print(asLine(`(${voice}) ${words}`, line));
    if (session.book.kept.length > entries) tries = -1;
    entries = session.book.kept.length;
  }
  return 0;
}

/** How it came out, for who looks on. */
function summary(book: Book, out: string | undefined): string {
  const valves = inOrder(book);
  const proved = valves.filter(({ phase }) => phase === 'proved').length;
  return [
    isSigned(book)
      ? `Signed by ${[book.signedBy, book.inspectedBy].filter(Boolean).join(' and ')}.`
      : 'Not signed.',
    `${proved} of ${valves.length} valves proved, ${book.kept.length} entries.`,
    out === undefined ? 'The record was not saved: --out FILE does that.' : `The record is in ${out}.`,
  ].join(' ');
}

function noiseFrom(path: string): Float32Array {
  try {
    return readWav(readFileSync(locate(path)));
  } catch (error) {
    throw new Refusal(`${path}: ${reasonOf(error)}`);
  }
}

function asLine(
  file: string,
  { state, heard, accepted, readBack }: Awaited<ReturnType<Rehearsal['play']>>[number],
) {
  return { file, state, heard: heard?.rejected === null ? heard.text : null, accepted, readBack };
}

function save(path: string, text: string): void {
  try {
    writeFileSync(locate(path), text);
  } catch (error) {
    throw new Refusal(`${path} cannot be written: ${reasonOf(error)}`);
  }
}

await run(main);
