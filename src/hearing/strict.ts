// The strict ear, our own engine: network and search follow an utterance as it is spoken, and a verdict says whether the
// nearest sentence was really said. A sentence that was not is never rounded to one that is in the list.
import { type Arc, outgoing, type WordGraph } from '../phrases/wordgraph.ts';
import { type AlignedWord, align, Decoder, type Hypothesis } from './decoder.ts';
import { HOP, logMel, MEL_BINS } from './features.ts';
import { type EarFit, loudnessOf, MOST, PLAIN, type Study, type Thresholds } from './fit.ts';
import { BLANK, type PhoneGraph, phoneGraph } from './graph.ts';
import { joined } from './joined.ts';
import type { Lexicon } from './lexicon.ts';
import { type EarModel, NetworkStream } from './network.ts';
import type { Heard, Nearest, Recogniser, Rejected } from './recogniser.ts';

// Where the thresholds come from: docs/hearing.md, "Thresholds", with the clips and the table.

/**
 * The most that a sentence may lose against the free string of phones, in nats per phone. Short words are found by chance
 * in other speech and in noise ("no" in "wow", "two" in a machine), so they must fit better: 1 phone 0.5, 2: 0.7, 3: 1.2,
 * and from there a tenth more for each phone, up to 1.6.
 * @param accepts of the fit to a voice; it never moves the first two.
 */
export const acceptedLoss = (phones: number, accepts = 1) =>
  phones < 3 ? 0.3 + 0.2 * phones : accepts * Math.min(1.6, 0.9 + 0.1 * phones);
/** Up to this many times that loss it is worth asking back; beyond, three of four are something else. */
export const ASKED = 1.6;
/** Nats by which the best sentence must lead the next: with 2.5, wrong ones are taken in noise three times as often. */
export const CLEAR_LEAD = 5;
/** One word of a sentence that loses more than this per phone was another word (99 % of right sentences: below 3.7). */
export const FOREIGN_WORD = 5;
/** The most that is held against a sentence for pronunciations which a fitted voice does not use (nats). */
const STRANGE = 2;
/** Fewer phones than this in the free string is no speech: recorded machines, taps, dishes and cafés gave none at all. */
const SPEECH_PHONES = 2;

/** Frames given to the network at once, where there are that many: a multiple of its stride. */
const BATCH = 240;

/** What may be said, ready for the search. */
interface Grammar {
  /** The arcs that leave each state of the word graph. */
  readonly arcs: readonly (readonly Arc[])[];
  readonly phones: PhoneGraph;
}

/** An utterance as it stands, if it ended now. */
export interface Outlook {
  readonly heard: Heard;
  /** Whether a longer sentence begins with `heard.text`. */
  readonly extensible: boolean;
}

export class StrictEar implements Recogniser {
  readonly #model: EarModel;
  readonly #lexicon: Lexicon;
  #grammar: Grammar;
  #fit: EarFit = PLAIN;

  constructor(model: EarModel, lexicon: Lexicon) {
    this.#model = model;
    this.#lexicon = lexicon;
    this.#grammar = this.#grammarOf({ states: 1, arcs: [], finals: [] });
  }

  async expect(graph: WordGraph): Promise<void> {
    this.#grammar = this.#grammarOf(graph);
  }

  async hear(utterance: Float32Array): Promise<Heard> {
    const start = performance.now();
    const frames = logMel(utterance);
    const following = this.follow(performance.now() - start);
    for (let at = 0; at < frames.length; at += BATCH * MEL_BINS) {
      following.push(frames.subarray(at, at + BATCH * MEL_BINS));
    }
    return following.outlook().heard;
  }

  /** Whose voice it is fitted to from the next utterance on; null: to nobody's.  @returns what holds then */
  fit(fit: EarFit | null): Thresholds {
    const { accepts, says } = fit ?? PLAIN;
    // However it came here: its bounds hold, and it knows no word or pronunciation that the ear does not.
    const known = Object.entries(says).filter(([word, way]) => this.#lexicon.get(word)?.includes(way));
    this.#fit = { accepts: Math.min(MOST, Math.max(1, accepts)), says: Object.fromEntries(known) };
    return { loss: acceptedLoss(Number.POSITIVE_INFINITY, this.#fit.accepts), lead: CLEAR_LEAD };
  }

  /** What the sound of a phrase tells of who said it; no fit has a part in that. */
  study(utterance: Float32Array, phrase: string): Study {
    const stream = new NetworkStream(this.#model);
    const posteriors = joined(stream.push(logMel(utterance)), stream.tail());
    const words = phrase.split(' ');
    const as = (says: EarFit['says']) =>
      alignment(this.#model, saidAs(this.#lexicon, words, says), words, posteriors);
    const found = as({});
    const phones = found?.words.reduce((sum, word) => sum + word.phones, 0) ?? 1;
    const cost = found?.cost ?? Infinity;
    const isForeign = found?.words.some((word) => word.cost > FOREIGN_WORD * word.phones) ?? true;
    const several = words.filter((word) => found && this.#lexicon.get(word)!.length > 1);
    const behind = (word: string, way: string) => (as({ [word]: way })?.cost ?? Infinity) - cost;
    return {
      said: cost / phones <= acceptedLoss(phones) * ASKED && !isForeign,
      loss: cost / phones,
      loudness: loudnessOf(utterance),
      ways: Object.fromEntries(
        several.map((word) => [
          word,
          Object.fromEntries(this.#lexicon.get(word)!.map((way) => [way, behind(word, way)])),
        ]),
      ),
    };
  }

  /** Begins an utterance, to be given frame by frame. What is expected later does not change it. */
  follow(spentMs = 0): Following {
    return new Following(this.#model, this.#lexicon, this.#grammar, this.#fit, spentMs);
  }

  close(): void {}

  #grammarOf(graph: WordGraph): Grammar {
    return { arcs: outgoing(graph), phones: phoneGraph(graph, this.#lexicon, this.#model.units) };
  }
}

/** One utterance, followed while it is spoken. */
export class Following {
  readonly #model: EarModel;
  readonly #lexicon: Lexicon;
  readonly #grammar: Grammar;
  readonly #fit: EarFit;
  readonly #network: NetworkStream;
  readonly #decoder: Decoder;
  readonly #posteriors: Float32Array[] = [];
  #outputs = 0;
  #lastPhone = -1;
  #ms: number;

  constructor(model: EarModel, lexicon: Lexicon, grammar: Grammar, fit: EarFit, spentMs: number) {
    this.#model = model;
    this.#lexicon = lexicon;
    this.#grammar = grammar;
    this.#fit = fit;
    this.#network = new NetworkStream(model);
    this.#decoder = new Decoder(grammar.phones, model.units.length);
    this.#ms = spentMs;
  }

  /** @param frames n × MEL_BINS log-mel features, the next of the utterance. */
  push(frames: Float32Array): void {
    const start = performance.now();
    const posteriors = this.#network.push(frames);
    this.#decoder.push(posteriors);
    this.#posteriors.push(posteriors);
    for (const unit of bestUnits(posteriors, this.#model.units.length)) {
      if (unit !== BLANK) this.#lastPhone = this.#outputs;
      this.#outputs++;
    }
    this.#ms += performance.now() - start;
  }

  /** Frames that make one output. */
  get stride(): number {
    return this.#model.stride;
  }

  /** The frame of the last phone known by now; −1 before the first. Frames newer than `horizon` are not yet judged. */
  get lastPhone(): number {
    return this.#lastPhone < 0 ? -1 : this.#lastPhone * this.#model.stride;
  }

  /** Frames that the network has judged. */
  get horizon(): number {
    return this.#outputs * this.#model.stride;
  }

  /** The verdict if the utterance ended here; it may still go on afterwards. */
  outlook(): Outlook {
    const start = performance.now();
    const units = this.#model.units.length;
    const tail = this.#network.tail();
    const decoder = this.#decoder.clone();
    decoder.push(tail);
    const posteriors = joined(...this.#posteriors, tail);
    const spoken = speech(posteriors, units);
    const hypotheses = decoder.hypotheses();
    const [best] = hypotheses;
    const aligned = best ? (alignment(this.#model, this.#lexicon, best.words, posteriors)?.words ?? []) : [];
    const verdict = judge(hypotheses, aligned, spoken.phones, {
      accepts: this.#fit.accepts,
      strange: best ? this.#strangeness(best, posteriors) : 0,
    });
    this.#ms += performance.now() - start;
    const sample = (output: number) => output * this.#model.stride * HOP;
    return {
      heard: { ...verdict, from: sample(spoken.from), to: sample(spoken.to), ms: this.#ms },
      extensible: verdict.text !== null && isExtensible(this.#grammar.arcs, verdict.text.split(' ')),
    };
  }

  /** How many nats worse a sentence fits where every word is said as the fitted voice says it; at most STRANGE. */
  #strangeness({ words, cost }: Hypothesis, posteriors: Float32Array): number {
    const { says } = this.#fit;
    if (!words.some((word) => word in says)) return 0;
    const own = alignment(this.#model, saidAs(this.#lexicon, words, says), words, posteriors);
    return Math.min(STRANGE, Math.max(0, (own?.cost ?? Infinity) - cost));
  }
}

/** The words of a sentence, those in `says` with that pronunciation alone. */
const saidAs = (lexicon: Lexicon, words: readonly string[], says: EarFit['says']): Lexicon =>
  new Map(words.map((word) => [word, says[word] ? [says[word]] : lexicon.get(word)!]));

/** Where the words of a sentence lie in an utterance, and what it loses; null where the utterance is too short for it. */
function alignment(model: EarModel, lexicon: Lexicon, words: readonly string[], posteriors: Float32Array) {
  const arcs = words.map((word, i) => ({ from: i, to: i + 1, word }));
  const chain = { states: arcs.length + 1, arcs, finals: [arcs.length] };
  return align(phoneGraph(chain, lexicon, model.units), posteriors, model.units.length);
}

type Verdict = Omit<Heard, 'from' | 'to' | 'ms'>;

/**
 * @param hypotheses the nearest sentences, best first.
 * @param aligned the words of the first of them.
 * @param phones how many phones the best free string has.
 * @param voice of the fit: what the first hypothesis may lose, in times θ, and what is held against its pronunciations (nats).
 *   Both move the line between taken and asked back alone; what is refused is refused for every voice.
 */
export function judge(
  hypotheses: readonly Hypothesis[],
  aligned: readonly AlignedWord[],
  phones: number,
  voice = { accepts: 1, strange: 0 },
): Verdict {
  const [best, next] = hypotheses;
  const nothing = (rejected: Rejected, confidence: number): Verdict => ({
    text: null,
    rejected,
    confidence,
    alternatives: [],
    words: [],
  });
  if (!best) return nothing(phones < SPEECH_PHONES ? 'noise' : 'unknown', 0);
  const spoken = aligned.reduce((sum, word) => sum + word.phones, 0);
  const accepted = acceptedLoss(spoken);
  const loss = best.cost / spoken;
  // Half at the threshold, falling ever faster beyond it.
  const fitOf = (lost: number) => 0.5 ** ((lost / accepted) ** 2);
  // Each hypothesis' share of the probability, were these the only sentences.
  const weights = hypotheses.map(({ cost }) => Math.exp(best.cost - cost));
  const total = weights.reduce((sum, weight) => sum + weight, 0);
  const confidences = hypotheses.map(({ cost }, i) => (weights[i]! / total) * fitOf(cost / spoken));
  const confidence = confidences[0]!;
  const nearest: Nearest = {
    text: best.words.join(' '),
    loss,
    worstWord: Math.max(...aligned.map((word) => word.cost / word.phones)),
    phones: spoken,
    lead: next ? next.cost - best.cost : null,
  };
  if (loss > accepted * ASKED)
    return { ...nothing(phones < SPEECH_PHONES ? 'noise' : 'unknown', confidence), nearest };

  const foreign = aligned.some((word) => word.cost > FOREIGN_WORD * word.phones);
  const isClose = next !== undefined && next.cost - best.cost - voice.strange < CLEAR_LEAD;
  const isFar = (best.cost + voice.strange) / spoken > acceptedLoss(spoken, voice.accepts);
  return {
    text: nearest.text,
    nearest,
    rejected: isFar || foreign || isClose ? 'unsure' : null,
    confidence,
    alternatives: hypotheses.slice(1).map(({ words }, i) => ({
      text: words.join(' '),
      confidence: confidences[i + 1]!,
    })),
    // A word is as sure as it fits, and as all the sentences that have it in this place are likely.
    words: aligned.map(({ word, cost, phones }, place) => {
      const agreeing = weights.filter((_, i) => hypotheses[i]!.words[place] === word);
      return {
        word,
        confidence: (agreeing.reduce((sum, weight) => sum + weight, 0) / total) * fitOf(cost / phones),
      };
    }),
  };
}

/** Whether some sentence goes on after these words, given the arcs that leave each state. */
function isExtensible(out: Grammar['arcs'], words: readonly string[]): boolean {
  let states = new Set([0]);
  for (const word of words) {
    const arcs = [...states].flatMap((state) => out[state]!.filter((arc) => arc.word === word));
    states = new Set(arcs.map((arc) => arc.to));
  }
  return [...states].some((state) => out[state]!.length > 0);
}

/** How many phones the best free string has, and the outputs between which it lies (0 and 0: none). */
function speech(posteriors: Float32Array, units: number): { phones: number; from: number; to: number } {
  let phones = 0;
  let from = -1;
  let to = -1;
  const best = bestUnits(posteriors, units);
  best.forEach((unit, output) => {
    if (unit === BLANK) return;
    if (from < 0) from = output;
    to = output + 1;
    if (unit !== best[output - 1]) phones++;
  });
  return phones === 0 ? { phones, from: 0, to: 0 } : { phones, from, to };
}

/** The most likely unit of each output. */
function bestUnits(posteriors: Float32Array, units: number): Uint8Array {
  const best = new Uint8Array(posteriors.length / units);
  for (let t = 0; t < best.length; t++) {
    for (let u = 1; u < units; u++) {
      if (posteriors[t * units + u]! > posteriors[t * units + best[t]!]!) best[t] = u;
    }
  }
  return best;
}
