// A robot mechanic for the browser: its microphone is a stream that plays what it says. It waits until the app listens,
// then answers aloud in a synthetic voice. Nothing reaches the app but sound.
import type { Page } from '@playwright/test';
import type { Book } from '../../src/procedure/book.ts';
import type { Going } from '../../src/procedure/fold.ts';
import type { BuiltInVoice } from '../../src/speaking/flite.ts';
import { Mechanic } from '../../tools/mechanic.ts';
import { loadSynthesiser, synthesise } from '../../tools/speak.ts';

/** What the app tells when it has finished its prompt and opens the ear. */
export interface Listening {
  readonly place: string | null;
  readonly going: Going;
  readonly book: Book;
}
interface Told {
  readonly what: 'listening' | 'heard' | 'sound';
  readonly detail: unknown;
}
/** What the mechanic does otherwise than practised: means something else, or says something else than is meant. */
export type Whim = (at: Listening) => { means: string } | { slips: string } | null;

/** Runs in the page before anything else: a microphone that can be spoken into. */
function injectMicrophone(): void {
  const robot = { context: null as AudioContext | null, out: null as MediaStreamAudioDestinationNode | null };
  const open = async () => {
    robot.context ??= new AudioContext({ sampleRate: 48_000 });
    robot.out ??= robot.context.createMediaStreamDestination();
    return robot.out.stream;
  };
  navigator.mediaDevices.getUserMedia = open;
  Object.assign(window, {
    robotSays: (samples: number[], rate: number) =>
      new Promise<number>((resolve) => {
        const buffer = robot.context!.createBuffer(1, samples.length, rate);
        buffer.copyToChannel(
          Float32Array.from(samples, (sample) => sample / 32767),
          0,
        );
        const source = robot.context!.createBufferSource();
        source.buffer = buffer;
        source.connect(robot.out!);
        source.onended = () => resolve(performance.now());
        source.start();
      }),
    robotUnplugs: () => {
      for (const track of robot.out!.stream.getTracks()) {
        track.stop();
        track.dispatchEvent(new Event('ended'));
      }
      // Plugged in again it is another one.
      robot.out = null;
    },
  });
  for (const what of ['listening', 'heard', 'sound']) {
    document.addEventListener(`lashwright:${what}`, (event) => {
      const told = { what, at: performance.now(), detail: (event as CustomEvent).detail };
      (window as unknown as { robotTold: (told: unknown) => void }).robotTold(told);
    });
  }
}

/** Samples below this are the silence at the end of a synthetic voice. */
const QUIET = 0.01;

export class Robot {
  readonly page: Page;
  readonly #voices: readonly BuiltInVoice[];
  #mechanic = new Mechanic();
  #listening: Listening | null = null;
  #wake: (() => void) | null = null;
  /** Everything said, with the place where it was said. */
  readonly said: { place: string | null; words: string; readBack: string }[] = [];
  readonly heard: { text: string | null; rejected: string | null }[] = [];
  /** What the page told, in order. */
  readonly told: ('listening' | 'heard' | 'sound')[] = [];

  private constructor(page: Page, voices: readonly BuiltInVoice[]) {
    this.page = page;
    this.#voices = voices;
  }

  /** Before the page is opened. The voices take turns. */
  static async at(page: Page, voices: readonly BuiltInVoice[]): Promise<Robot> {
    const robot = new Robot(page, voices);
    // The first sentence shall take no longer than the others.
    await loadSynthesiser();
    await page.exposeFunction('robotTold', ({ what, detail }: Told) => {
      robot.told.push(what);
      if (what === 'heard') robot.heard.push(detail as { text: string | null; rejected: string | null });
      if (what === 'listening') {
        robot.#listening = detail as Listening;
        robot.#wake?.();
      }
    });
    await page.addInitScript(injectMicrophone);
    return robot;
  }

  /** After a reload the mechanic starts to listen anew. */
  forget(): void {
    this.#listening = null;
    this.#mechanic = new Mechanic();
  }

  /** @returns about when the last of it sounded, as the page's `performance.now()` */
  async say(words: string): Promise<number> {
    const voice = this.#voices[this.said.length % this.#voices.length]!;
    const samples = await synthesise(words, { voice });
    const whole = Array.from(samples, (sample) => Math.round(sample * 20_000));
    const ended = await this.page.evaluate(
      ([sound]) =>
        (window as unknown as { robotSays: (s: number[], r: number) => Promise<number> }).robotSays(
          sound!,
          16_000,
        ),
      [whole],
    );
    const tail = samples.length - samples.findLastIndex((sample) => Math.abs(sample) > QUIET);
    return ended - (tail / 16_000) * 1000;
  }

  /** Pulls the microphone out. */
  async unplug(): Promise<void> {
    await this.page.evaluate(() => (window as unknown as { robotUnplugs: () => void }).robotUnplugs());
  }

  /** The moment when the app listens again; null where it has not for a while. */
  async listens(withinMs: number): Promise<Listening | null> {
    if (!this.#listening) {
      await new Promise<void>((resolve) => {
        this.#wake = resolve;
        setTimeout(resolve, withinMs);
      });
      this.#wake = null;
    }
    const now = this.#listening;
    this.#listening = null;
    return now;
  }

  /**
   * Answers until the session is signed, or until `until` says so.
   * @throws Error where the app was not moved by a dozen answers in a row
   */
  async work({
    whim = () => null,
    until = () => false,
  }: {
    whim?: Whim;
    until?: (at: Listening) => boolean;
  } = {}): Promise<void> {
    let last: Listening | null = null;
    for (let silent = 0; silent < 12; ) {
      const now = await this.listens(last ? 4_000 : 60_000);
      silent = now ? 0 : silent + 1;
      last = now ?? last;
      if (!last) throw new Error('The app does not listen.');
      if (until(last)) return;
      const whims = whim(last);
      const meant = this.#mechanic.next(
        last.book,
        last.going,
        whims && 'means' in whims ? whims.means : null,
      );
      const words = whims && 'slips' in whims ? whims.slips : meant;
      if (words === null) return;
      const readBack = await this.page.evaluate(() => document.querySelector('.said')?.textContent ?? '');
      this.said.push({ place: last.place, words, readBack });
      if (process.env.SHOW)
        console.log(last.place, '|', words, '|', readBack, '|', JSON.stringify(this.heard.at(-1)));
      await this.say(words);
    }
    throw new Error(`Not heard a dozen times in a row: ${JSON.stringify(this.said.slice(-3))}`);
  }
}
