// What the ear really made of each sentence: spoken by voices, in noise, heard against the list of its state. Measured once
// and kept in a file; the simulated sessions draw from it, and other thresholds judge the same sounds anew.

import { appendFileSync, existsSync, readFileSync } from 'node:fs';
import { SAMPLE_RATE } from '../../../src/hearing/recogniser.ts';
import { ASKED, acceptedLoss, FOREIGN_WORD } from '../../../src/hearing/strict.ts';
import { fullLexicon } from '../../lexicon.ts';
import { resample } from '../../sound.ts';
import { synthesise } from '../../speak.ts';
import { festivalVoices, sayWithFestival } from '../festival.ts';
import { type EarOnTrial, strictEar } from '../hearing/ears.ts';
import type { List } from '../hearing/lists.ts';
import { type Outcome, outcomeOf } from '../hearing/outcome.ts';
import { haveRecordings } from '../hearing/recordings.ts';
import { numberOf } from '../hearing/statistics.ts';
import { type Condition, nameOf, under } from '../hearing/trial.ts';

export const EAR = new URL('../../../models/ear.safetensors', import.meta.url);

export type Kind = 'figure' | 'count' | 'verdict' | 'deed' | 'answer' | 'control';
/** A line of bench:hearing, with the kind of what was said. */
export type Row = Outcome & { readonly kind: Kind };

/** A sentence that a mechanic says at a state. */
export interface Wanted {
  readonly said: string;
  readonly kind: Kind;
  readonly list: List;
}

/** Voices that no ear was trained with, a woman's and a man's; festival's only where it is installed. */
const FLITE = 'flite slt';
const FESTIVAL = ['ked_diphone'];

const CONDITIONS: readonly Condition[] = [null, { noise: 'bike', snr: 10 }, { noise: 'bike', snr: 5 }];
export const conditions = (): readonly string[] =>
  (haveRecordings() ? CONDITIONS : CONDITIONS.slice(0, 1)).map(nameOf);

/** Each sentence is said so fast by each voice, each time at another place in the noise. */
const RATES = [1, 0.94];

const byPlace = new Map<string, List>();
const byName = new Map<string, List>();

/** A list by what it holds: states in which the same may be said share what was measured. */
export function listOf(place: string, make: () => Omit<List, 'name'>): List {
  let list = byPlace.get(place);
  if (!list) {
    const made = make();
    const name = numberOf(JSON.stringify(made.graph)).toString(16);
    list = byName.get(name) ?? { name, ...made };
    byName.set(name, list);
    byPlace.set(place, list);
  }
  return list;
}

/** Whether what was heard means what was said; of lists that no session has come to, whether it is the same sentence. */
export function isRight({ list, said, best }: Row): boolean {
  const meaning = byName.get(list)?.meaning;
  return best !== null && (best === said || (meaning !== undefined && meaning(best) === meaning(said)));
}

const keyOf = (list: string, said: string, speaker: string, condition: string) =>
  `${list}|${said}|${speaker}|${condition}`;

export class Measured {
  readonly rows: Row[] = [];
  readonly voices: string[];
  readonly #of = new Map<string, Row[]>();
  readonly #file: string;
  readonly #said = new Map<string, Float32Array>();
  #ear: EarOnTrial | null = null;

  /** @param file where rows were kept, and more are added */
  constructor(file: string) {
    this.#file = file;
    const festival = festivalVoices();
    this.voices = [
      FLITE,
      ...FESTIVAL.filter((name) => festival.includes(name)).map((name) => `festival ${name}`),
    ];
    if (!existsSync(file)) return;
    for (const line of readFileSync(file, 'utf8').split('\n')) if (line !== '') this.#keep(JSON.parse(line));
  }

  #keep(row: Row): void {
    const key = keyOf(row.list, row.said, row.speaker, row.condition);
    const known = this.#of.get(key);
    if (known) known.push(row);
    else this.#of.set(key, [row]);
    this.rows.push(row);
  }

  /** What came of a sentence each time that it was said. */
  async of(wanted: Wanted, speaker: string, condition: string): Promise<readonly Row[]> {
    const key = keyOf(wanted.list.name, wanted.said, speaker, condition);
    if (!this.#of.has(key)) await this.measure(wanted.said, [wanted], [speaker], [condition]);
    return this.#of.get(key)!;
  }

  /** Hears one sentence against each of its lists where that was not yet done. */
  async measure(
    said: string,
    wanted: readonly Wanted[],
    voices: readonly string[],
    named: readonly string[] = conditions(),
  ): Promise<void> {
    this.#ear ??= strictEar('ours', EAR, fullLexicon());
    for (const speaker of voices)
      for (const condition of CONDITIONS) {
        const noise = nameOf(condition);
        const missing = wanted.filter(({ list }) => !this.#of.has(keyOf(list.name, said, speaker, noise)));
        if (missing.length === 0 || !named.includes(noise)) continue;
        const found: Row[] = [];
        for (const [take, rate] of RATES.entries()) {
          const speech = resample(
            await this.#speak(speaker, said),
            Math.round(SAMPLE_RATE * rate),
            SAMPLE_RATE,
          );
          const sound = await under(condition, speech, 'judge', `${speaker} ${said} ${take}`);
          const trial = {
            set: 'dialogue',
            by: speaker,
            noise,
            speaker,
            said,
            sound,
            noisy: condition !== null,
          };
          const heard = await this.#ear.hear(
            sound,
            missing.map(({ list }) => list),
            trial.noisy,
          );
          for (const [k, { list, kind }] of missing.entries())
            found.push({
              ...outcomeOf('ours', { ...trial, lists: [list] }, list, heard[k]!, sound.length / SAMPLE_RATE),
              kind,
            });
        }
        appendFileSync(this.#file, found.map((row) => `${JSON.stringify(row)}\n`).join(''));
        for (const row of found) this.#keep(row);
      }
  }

  /** Festival takes long to start: it says many sentences in one go. */
  prepare(sentences: readonly string[]): void {
    for (const voice of this.voices.filter((name) => name.startsWith('festival '))) {
      const done = new Set(this.rows.filter(({ speaker }) => speaker === voice).map(({ said }) => said));
      const missing = sentences.filter((said) => !this.#said.has(`${voice} ${said}`) && !done.has(said));
      if (missing.length === 0) continue;
      const say = sayWithFestival(voice.slice('festival '.length), missing);
      for (const said of missing) this.#said.set(`${voice} ${said}`, say(said));
    }
  }

  async #speak(speaker: string, said: string): Promise<Float32Array> {
    if (speaker === FLITE) return synthesise(said, { voice: 'slt' });
    const key = `${speaker} ${said}`;
    // A sentence of which something is measured already is said again for another list.
    if (!this.#said.has(key))
      this.#said.set(key, sayWithFestival(speaker.slice('festival '.length), [said])(said));
    return this.#said.get(key)!;
  }
}

/** A verdict with other thresholds. */
export interface Thresholds {
  /** Multiple of the accepted loss. */
  readonly theta: number;
  /** Nats. */
  readonly lead: number;
  /** Whatever would be asked is taken. */
  readonly takeAll?: boolean;
}

export type Tier = Outcome['tier'];

/** The verdict of src/hearing/strict.ts (`judge`) on a sound that was measured, with other thresholds. */
export function judgeAnew(
  { tier, loss, worstWord, lead, phones }: Row,
  { theta, lead: clear, takeAll }: Thresholds,
): Tier {
  if (loss === null || phones === null) return tier;
  const accepted = theta * acceptedLoss(phones);
  if (loss > ASKED * accepted) return tier === 'noise' ? 'noise' : 'unknown';
  const unsure = loss > accepted || (worstWord ?? 0) > FOREIGN_WORD || (lead !== null && lead < clear);
  return unsure && !takeAll ? 'unsure' : 'taken';
}
