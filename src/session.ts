// One session, whoever drives it: the app with its microphone, or a tool with sound files. What was heard becomes an
// entry, the entry is kept, then the machine moves, and only then is there something to say.
import type { Heard } from './hearing/recogniser.ts';
import { examples, likelyEntries } from './phrases/choices.ts';
import { graphOfPhrase, meaningOf } from './phrases/grammar.ts';
import { otherWays, prompt, shortPrompt } from './phrases/prompts.ts';
import { readBack } from './phrases/readback.ts';
import { vocabulary } from './phrases/vocabulary.ts';
import type { WordGraph } from './phrases/wordgraph.ts';
import { type Book, isSigned, type Opening } from './procedure/book.ts';
import type { Entry } from './procedure/entry.ts';
import { after, type Event, fold, type Going, goingOn, type Moment } from './procedure/fold.ts';

/** Where events are kept; resolves only when the event is safe. `closes`: with it the session is signed and over. */
export type Keep = (event: Event, closes: boolean) => Promise<void>;

export interface SessionOptions {
  readonly opening: Opening;
  /** What was kept before, when going on with a session. */
  readonly events?: readonly Event[];
  readonly keep: Keep;
  /** RFC 3339 */
  readonly now: () => string;
}

/** What came of an utterance or a touch. */
export interface Outcome {
  /** Whether it was entered; a question is not yet an entry. */
  readonly accepted: boolean;
  /** The read-back, question or refusal; empty where there is nothing to say. */
  readonly readBack: string;
  /** What is due now; empty where the last prompt still stands. */
  readonly prompt: string;
  readonly tone: 'taken' | 'asked' | 'refused' | null;
}

/** The opening itself is the first event of a session. */
const OPENING = 1;

const SILENT: Outcome = { accepted: false, readBack: '', prompt: '', tone: null };

export class Session {
  private now: Moment;
  private readonly options: SessionOptions;
  private seq: number;
  private misses = 0;
  private work: Promise<unknown> = Promise.resolve();

  constructor(options: SessionOptions) {
    this.options = options;
    this.now = fold(options.opening, options.events ?? []);
    this.seq = options.events?.at(-1)?.seq ?? OPENING;
  }

  get moment(): Moment {
    return this.now;
  }
  get book(): Book {
    return this.now.context;
  }
  get going(): Going {
    return goingOn(this.now);
  }
  get prompt(): string {
    return prompt(this.book, this.going);
  }
  /** What may be said now. */
  get graph(): WordGraph {
    return graphOfPhrase(vocabulary(this.book, this.going));
  }
  get isSigned(): boolean {
    return isSigned(this.book);
  }

  /** The sentences that are likely to be said next, for the voice to make ready. */
  likely(): string[] {
    const stamp = { seq: this.seq + 1, at: this.options.now(), who: this.options.opening.mechanic };
    return likelyEntries(this.book, this.going).flatMap((entry) => {
      const then = after(this.now, { ...entry, ...stamp });
      return [readBack(then.context), prompt(then.context, goingOn(then))].filter(
        (sentence) => sentence !== '',
      );
    });
  }

  /** Takes what the ear heard. Noise and other speech change nothing and are answered by nothing. */
  async hear(heard: Heard): Promise<Outcome> {
    if (heard.rejected === 'noise' || heard.rejected === 'unknown' || heard.text === null) return SILENT;
    const entry = meaningOf(vocabulary(this.book, this.going), heard.text);
    if (!entry) return SILENT;
    return heard.rejected === null ? this.take(entry) : this.doubtful(entry);
  }

  /** Takes an entry from voice, touch, key or pedal. One after the other, however fast they come. */
  take(entry: Entry): Promise<Outcome> {
    this.misses = 0;
    return this.inTurn(() => this.enter(entry, this.mustAsk(entry)));
  }

  /** An answer holds for the moment in which it was given: where another came first, it is dropped, never carried over. */
  private inTurn(work: () => Promise<Outcome>): Promise<Outcome> {
    const seen = this.now;
    const outcome = this.work.then(() => (this.now === seen ? work() : SILENT));
    this.work = outcome.catch(() => undefined);
    return outcome;
  }

  /** A value heard doubtfully is asked back; an answer or a control word has to be said again. */
  private async doubtful(entry: Entry): Promise<Outcome> {
    this.misses++;
    if (this.misses >= 3) return { ...SILENT, readBack: otherWays, tone: 'refused' };
    if (this.misses === 2) {
      return { ...SILENT, readBack: shortPrompt(examples(this.book, this.going)), tone: 'refused' };
    }
    if (this.going !== 'work' || CONTROLS.has(entry.type)) {
      return { ...SILENT, readBack: 'Please say that again.', tone: 'refused' };
    }
    return this.inTurn(() => this.enter(entry, true));
  }

  private mustAsk(entry: Entry): boolean {
    return (
      this.options.opening.askAlways === true &&
      this.going === 'work' &&
      (entry.type === 'gauged' || entry.type === 'proofed' || entry.type === 'counted')
    );
  }

  private async enter(entry: Entry, doubted: boolean): Promise<Outcome> {
    const before = this.book;
    const stamp = { seq: this.seq + 1, at: this.options.now(), who: this.speaker(entry) };
    const event: Event = doubted ? { type: 'doubted', entry, ...stamp } : { ...entry, ...stamp };
    const next = after(this.now, event);
    await this.options.keep(event, isSigned(next.context));
    this.seq = stamp.seq;
    this.now = next;
    const { reply, kept } = this.book;
    const accepted =
      kept.length > before.kept.length || reply.kind === 'corrected' || reply.kind === 'wentBack';
    const tone = reply.kind === 'asked' ? 'asked' : reply.kind === 'refused' ? 'refused' : 'taken';
    const asks = reply.kind === 'asked';
    return { accepted, readBack: readBack(this.book), prompt: asks ? '' : this.prompt, tone };
  }

  private speaker(entry: Entry): string {
    const { mechanic, inspector } = this.options.opening;
    return entry.type === 'inspected' && inspector !== null ? inspector : mechanic;
  }
}

const CONTROLS = new Set<Entry['type']>([
  'stop',
  'sayAgain',
  'standBy',
  'carryOn',
  'correction',
  'goBack',
  'lost',
  'signed',
  'inspected',
]);
