// End of speech: cuts a stream of sound into utterances and says what each was, as soon as nothing longer can follow.
// A pure class, the same in a worker and in Node: samples in, utterances out; nothing depends on how the samples are cut.
import { FRAME, frameLogMel, HOP, MEL_BINS } from './features.ts';
import { type Heard, SAMPLE_RATE } from './recogniser.ts';
import type { Following, StrictEar } from './strict.ts';

// Times in frames of 10 ms.

/** Sound kept from before speech was noticed. */
const PRE_ROLL = 30;
/** Speech is noticed when this many of the last ONSET_SPAN frames stand out: longer than a knock, not than what rings. */
const ONSET = 10;
const ONSET_SPAN = 14;
// What the waits cost and spare is in docs/hearing.md, "Waits".

/** Quiet that ends a whole sentence which nothing longer begins with: a surely heard one, and any. */
const QUIET_AFTER_SURE = 7;
const QUIET_AFTER_WHOLE = 15;
/** Quiet that ends a surely heard sentence with which a longer one begins: "seven thou", and then "drag tight" after a pause. */
const QUIET_AFTER_BEGINNING = 48;
/** Quiet that ends anything else. */
const QUIET_AFTER_ALL = 60;
/**
 * The same two where a noise covers the pause and only the network can tell: the time since its last phone. It marks a
 * phone once and early, so a long vowel and a short pause together are well above half a second without one.
 */
const NO_PHONE_AFTER_WHOLE = 40;
const NO_PHONE_AFTER_ALL = 100;
/** Sound in which the network finds no phone for so long is a noise, to be learnt as the new background. */
const NO_PHONE_AT_ALL = 150;
/** Until the end a sentence that could be whole is looked at again this often. */
const LOOK_AGAIN = 3;
const LONGEST = 1000;

/** A sentence is surely heard with this confidence. */
const SURE = 0.8;
/** A last word less sure than this may still be coming: the soft "f" of "five" is quiet, and so far could be one of "four". */
const SURE_WORD = 0.5;

/** By how much, on the average over the mel bins, a frame must exceed the background to be taken for speech (nats; 4.3 dB). */
export const STANDS_OUT = 1;
/** What has faded to this share of the loudest, or is below FADED_AT_MOST, is the room's echo or a breath (nats). */
const FADED = 0.3;
const FADED_AT_MOST = 4;
/** The quietest background believed (nats): about −85 dBFS, below any microphone's own noise. */
const LOWEST_BACKGROUND = 5;

/** One utterance, cut out. */
export interface Utterance {
  /** Mono at SAMPLE_RATE, from PRE_ROLL before the speech to the decision. */
  readonly samples: Float32Array;
  readonly heard: Heard;
  /** Milliseconds of sound from the last sign of speech to the decision. */
  readonly waitedMs: number;
}

/** What a level meter shows. */
export interface Level {
  /** Root mean square of the last 10 ms, dB below full scale; −∞ for digital silence. */
  readonly dBFS: number;
  readonly speaking: boolean;
}

export class Listener {
  readonly #ear: StrictEar;
  readonly #background = new Background();
  /** Sound since PRE_ROLL before the utterance (or before now), and the features of its whole frames. */
  readonly #samples = new Float32Array(LONGEST * HOP + FRAME);
  readonly #features = new Float32Array(LONGEST * MEL_BINS);
  #length = 0;
  #frames = 0;
  /** By how much each of the latest frames exceeded the background, and the most since speech began (nats). */
  #latest: number[] = [];
  #loudest = 0;
  #open = false;
  #following: Following | null = null;
  /** Frames already given to #following, the last one that was loud, and when to look next for a whole sentence. */
  #given = 0;
  #lastLoud = 0;
  #lookAt = 0;

  constructor(ear: StrictEar) {
    this.#ear = ear;
  }

  /** From now on sound is listened to. */
  open(): void {
    this.#open = true;
  }

  /** Half duplex: what is pushed while closed leaves no trace, and a phrase half heard is dropped. */
  close(): void {
    this.#open = false;
    this.#forget(this.#length);
    this.#latest = [];
    this.#following = null;
  }

  get level(): Level {
    let energy = 0;
    const from = Math.max(0, this.#length - HOP);
    for (let i = from; i < this.#length; i++) energy += this.#samples[i]! ** 2;
    return {
      dBFS: 10 * Math.log10(energy / Math.max(1, this.#length - from)),
      speaking: this.#following !== null,
    };
  }

  /** @param samples the next ones, any number, mono at SAMPLE_RATE, −1…1.  @returns utterances that ended in them. */
  push(samples: Float32Array): Utterance[] {
    const ended: Utterance[] = [];
    for (let at = 0; this.#open && at < samples.length; ) {
      const wanted = this.#frames * HOP + FRAME - this.#length;
      const piece = samples.subarray(at, at + wanted);
      this.#samples.set(piece, this.#length);
      this.#length += piece.length;
      at += piece.length;
      if (piece.length < wanted) break;
      const utterance = this.#frame();
      if (utterance) ended.push(utterance);
    }
    return ended;
  }

  /** Takes in one whole frame. */
  #frame(): Utterance | null {
    const at = this.#frames * MEL_BINS;
    frameLogMel(this.#samples, this.#frames * HOP, this.#features, at);
    this.#frames++;
    const frame = this.#features.subarray(at, at + MEL_BINS);
    const above = this.#background.above(frame);
    if (this.#following) {
      this.#loudest = Math.max(this.#loudest, above);
      if (isLoud(above, this.#loudest)) this.#lastLoud = this.#frames;
      return this.#follow(this.#following);
    }
    this.#background.learn(frame, above > STANDS_OUT);
    this.#latest = [...this.#latest.slice(1 - ONSET_SPAN), above];
    const loudest = Math.max(...this.#latest);
    if (this.#latest.filter((above) => isLoud(above, loudest)).length >= ONSET) this.#begin(loudest);
    else if (this.#frames > PRE_ROLL + ONSET_SPAN) this.#forget(HOP);
    return null;
  }

  #begin(loudest: number): void {
    this.#following = this.#ear.follow();
    this.#given = 0;
    this.#lastLoud = this.#frames;
    this.#loudest = loudest;
    this.#lookAt = 0;
    this.#latest = [];
  }

  /** Gives the frames that have come to the network, as many as make an output, and looks whether that was the end. */
  #follow(following: Following): Utterance | null {
    if (this.#frames - this.#given < following.stride) return null;
    following.push(this.#features.subarray(this.#given * MEL_BINS, this.#frames * MEL_BINS));
    this.#given = this.#frames;

    const { lastPhone, horizon } = following;
    const speechless = lastPhone < 0;
    const quiet = this.#frames - Math.max(this.#lastLoud, lastPhone);
    const phoneless = horizon - lastPhone;
    const waited = Math.max(quiet, phoneless);
    if (
      this.#frames + following.stride > LONGEST ||
      quiet >= QUIET_AFTER_ALL ||
      phoneless >= (speechless ? NO_PHONE_AT_ALL : NO_PHONE_AFTER_ALL)
    ) {
      return this.#end(following.outlook().heard, waited);
    }
    if (speechless || (quiet < QUIET_AFTER_SURE && phoneless < NO_PHONE_AFTER_WHOLE)) return null;
    if (this.#frames < this.#lookAt) return null;
    this.#lookAt = this.#frames + LOOK_AGAIN;
    const { heard, extensible } = following.outlook();
    if (heard.rejected !== null || heard.words.at(-1)!.confidence < SURE_WORD) return null;
    const sure = heard.confidence >= SURE;
    const isOver = extensible
      ? sure && quiet >= QUIET_AFTER_BEGINNING
      : sure || quiet >= QUIET_AFTER_WHOLE || phoneless >= NO_PHONE_AFTER_WHOLE;
    return isOver ? this.#end(heard, waited) : null;
  }

  #end(heard: Heard, waited: number): Utterance {
    const samples = this.#samples.slice(0, this.#length);
    const tail = Math.min(waited, QUIET_AFTER_WHOLE);
    if (tail > 0) {
      this.#background.relearn(
        this.#features.subarray((this.#frames - tail) * MEL_BINS, this.#frames * MEL_BINS),
      );
    }
    this.#following = null;
    this.#forget(this.#frames * HOP);
    return { samples, heard, waitedMs: (waited * HOP * 1000) / SAMPLE_RATE };
  }

  /** Drops the oldest samples and the frames that begin in them. */
  #forget(samples: number): void {
    this.#samples.copyWithin(0, samples, this.#length);
    this.#length -= samples;
    const frames = Math.min(this.#frames, Math.ceil(samples / HOP));
    this.#features.copyWithin(0, frames * MEL_BINS, this.#frames * MEL_BINS);
    this.#frames -= frames;
  }
}

/** Whether what exceeds the background by `above` is speech, beside the loudest of it (nats). */
export function isLoud(above: number, loudest: number): boolean {
  return above > Math.max(STANDS_OUT, Math.min(FADED_AT_MOST, FADED * loudest));
}

/** The level of the background in each mel bin, learnt while nobody speaks. */
export class Background {
  readonly #level = new Float32Array(MEL_BINS);
  #known = false;

  /** How far a frame stands above the background, on the average over the bins (nats). */
  above(frame: Float32Array): number {
    if (!this.#known) this.relearn(frame);
    let sum = 0;
    for (let b = 0; b < MEL_BINS; b++) sum += Math.max(0, frame[b]! - this.#level[b]!);
    return sum / MEL_BINS;
  }

  /** Follows a quiet frame within 0.2 s; towards a loud one it creeps by 1 nat in 2 s. */
  learn(frame: Float32Array, loud: boolean): void {
    for (let b = 0; b < MEL_BINS; b++) {
      const step = 0.05 * (frame[b]! - this.#level[b]!);
      this.#level[b] = Math.max(LOWEST_BACKGROUND, this.#level[b]! + (loud ? Math.min(step, 0.005) : step));
    }
  }

  /** Takes the mean of some frames for the background. */
  relearn(frames: Float32Array): void {
    this.#known = true;
    const count = frames.length / MEL_BINS;
    for (let b = 0; b < MEL_BINS; b++) {
      let sum = 0;
      for (let i = 0; i < count; i++) sum += frames[i * MEL_BINS + b]!;
      this.#level[b] = Math.max(LOWEST_BACKGROUND, sum / count);
    }
  }
}
