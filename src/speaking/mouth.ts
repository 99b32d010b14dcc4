// The one thing through which the app speaks: sentences in order, cut at a touch, and never a failure that stops the work.
// A voice that fails is left for good, and the next one says the whole sentence again; after the last there is silence.
import { builtInVoice, type Progress } from './built-in.ts';
import type { BuiltInVoice } from './flite.ts';
import { browserPlatform, platformVoice } from './platform.ts';
import { playTone, type Tone } from './tones.ts';
import { untilAborted, type Voice } from './voice.ts';

/** A voice was given up. */
export interface Fault {
  readonly voice: string;
  /** A sentence to show. */
  readonly reason: string;
  /** The voice that speaks from now on; null: none, everything must be read from the screen. */
  readonly next: string | null;
}

export interface MouthOptions {
  readonly prefer: 'platform' | 'built-in' | 'silent';
  /** Of the built-in voices. */
  readonly voice?: BuiltInVoice;
  /** While the built-in voice is loading. */
  readonly onProgress?: (progress: Progress) => void;
  readonly onFault?: (fault: Fault) => void;
  /** Aborted: the mouth is closed. */
  readonly signal?: AbortSignal;
}

/** Resolves when the first voice that works is ready. Call it from a touch or key, or browsers keep the sound asleep. */
export async function openMouth(options: MouthOptions): Promise<Mouth> {
  const context = new AudioContext({ latencyHint: 'interactive' });
  const mouth = new Mouth({
    voices: options.prefer === 'silent' ? [] : browserVoices(context, options),
    playTone: (tone, volume) => playTone(context, tone, volume),
    onFault: options.onFault ?? (() => {}),
    onClose: () => void context.close(),
  });
  options.signal?.addEventListener('abort', () => mouth.close(), { once: true });
  if (options.signal?.aborted) mouth.close();
  await mouth.load();
  return mouth;
}

/** The preferred voice first. */
function browserVoices(context: AudioContext, { prefer, voice = 'slt', onProgress }: MouthOptions): Voice[] {
  const builtIn = builtInVoice(context, voice, onProgress ?? (() => {}));
  const platform = browserPlatform();
  if (platform === null) return [builtIn];
  const device = platformVoice(platform);
  return prefer === 'platform' ? [device, builtIn] : [builtIn, device];
}

interface Parts {
  /** In the order in which they are tried. */
  readonly voices: readonly Voice[];
  readonly playTone: (tone: Tone, volume: number) => Promise<void>;
  readonly onFault: (fault: Fault) => void;
  readonly onClose: () => void;
}

type Unsubscribe = () => void;

export class Mouth {
  /** 0…1, of speech and tones. */
  volume = 1;
  /** Speed of speech: 1 is the voice's own. */
  rate = 1;

  readonly #parts: Parts;
  #voices: readonly Voice[];
  #cutter = new AbortController();
  #last: Promise<void> = Promise.resolve();
  #sounds = 0;
  readonly #speakingListeners = new Set<(speaking: boolean) => void>();
  readonly #firstSoundListeners = new Set<(at: number, text: string) => void>();

  constructor(parts: Parts) {
    this.#parts = parts;
    this.#voices = parts.voices;
  }

  /** The voice in use; null: silent. */
  get voice(): string | null {
    return this.#voices[0]?.name ?? null;
  }

  /** Readies the first voice that works. */
  async load(): Promise<void> {
    await this.#withVoice((voice) => voice.load());
  }

  /** After what is being said. Resolves when the last sample has sounded or it was cut; never rejects. */
  say(text: string): Promise<void> {
    const { signal } = this.#cutter;
    this.#last = this.#whileSounding(this.#last.then(() => this.#sayNow(text, signal)));
    return this.#last;
  }

  /** Sentences likely to be said next, likeliest first. */
  prepare(texts: readonly string[]): void {
    this.#voices[0]?.prepare(texts, this);
  }

  /** Silence at once: what is being said and what was to follow. */
  cut(): void {
    this.#cutter.abort();
    this.#cutter = new AbortController();
  }

  /** Resolves when the tone has been heard; never rejects, as a tone only repeats what the screen shows. */
  tone(tone: Tone): Promise<void> {
    return this.#whileSounding(this.#parts.playTone(tone, this.volume).catch(() => {}));
  }

  /** True from the moment something is to be said or sounded until all of it has been heard. */
  onSpeaking(listener: (speaking: boolean) => void): Unsubscribe {
    this.#speakingListeners.add(listener);
    return () => this.#speakingListeners.delete(listener);
  }

  /** The time (milliseconds, as `performance.now()`) at which a sentence's first sample is heard. */
  onFirstSound(listener: (at: number, text: string) => void): Unsubscribe {
    this.#firstSoundListeners.add(listener);
    return () => this.#firstSoundListeners.delete(listener);
  }

  /** For good. */
  close(): void {
    this.cut();
    this.#voices = [];
    for (const voice of this.#parts.voices) voice.close();
    this.#parts.onClose();
  }

  async #sayNow(text: string, signal: AbortSignal): Promise<void> {
    const { rate, volume } = this;
    const onFirstSound = (at: number) => {
      for (const listener of this.#firstSoundListeners) listener(at, text);
    };
    await this.#withVoice(async (voice) => {
      await untilAborted(voice.load(), signal);
      if (!signal.aborted) await voice.say(text, { rate, volume, signal, onFirstSound });
    });
  }

  /** Tries one voice after the other until one has done it. */
  async #withVoice(task: (voice: Voice) => Promise<void>): Promise<void> {
    for (let voice = this.#voices[0]; voice !== undefined; voice = this.#voices[0]) {
      try {
        await task(voice);
        return;
      } catch (error) {
        this.#giveUp(voice, error);
      }
    }
  }

  #giveUp(failed: Voice, error: unknown): void {
    if (!this.#voices.includes(failed)) return; // closed meanwhile, or given up by an earlier task
    this.#voices = this.#voices.filter((voice) => voice !== failed);
    const reason = error instanceof Error ? error.message : String(error);
    this.#parts.onFault({ voice: failed.name, reason, next: this.voice });
  }

  async #whileSounding(sound: Promise<void>): Promise<void> {
    this.#tellSounds(+1);
    await sound.finally(() => this.#tellSounds(-1));
  }

  #tellSounds(change: 1 | -1): void {
    const before = this.#sounds > 0;
    this.#sounds += change;
    const now = this.#sounds > 0;
    if (before === now) return;
    for (const listener of this.#speakingListeners) listener(now);
  }
}
