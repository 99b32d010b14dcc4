// All that the screens show and all that they can ask for, as signals and functions. The host makes one View; the
// screens read it and never keep a copy of what is in it.
import type { ReadonlySignal } from '@preact/signals';
import type { Fitting } from '../hearing/fit.ts';
import type { Rejected } from '../hearing/recogniser.ts';
import type { KeptFit } from '../kept.ts';
import type { Book, Instrument } from '../procedure/book.ts';
import type { Entry } from '../procedure/entry.ts';
import type { Going } from '../procedure/fold.ts';
import type { Sheet } from '../trade/sheet.ts';

/** What is chosen before a session begins. */
export interface Preparing {
  /** Id of the chosen sheet. */
  readonly sheet: string | null;
  readonly mechanic: string;
  readonly inspector: string;
  /** One for each kind of instrument; the screens change their id and due date only. */
  readonly instruments: readonly Instrument[];
  readonly voice: 'platform' | 'built-in' | 'silent';
  readonly engine: 'strict' | 'vosk';
  /** Every figure is asked back, also when it is inside its limits and was heard clearly. */
  readonly askAlways: boolean;
}

export interface Loading {
  readonly what: string;
  /** Bytes. */
  readonly loaded: number;
  readonly total: number | null;
  readonly done: boolean;
}

/** A big touch target. `main` is also what Enter and the pedal choose; there is at most one. */
export interface Choice {
  readonly label: string;
  readonly entry: Entry;
  /** As KeyboardEvent.key gives it; null where the table of keys already has one for it. */
  readonly key: string | null;
  readonly weight: 'main' | 'other' | 'grave';
}

export interface HeardLine {
  readonly text: string | null;
  readonly rejected: Rejected | null;
  /** 0…1 */
  readonly confidence: number;
}

export interface FaultLine {
  readonly id: string;
  readonly sentence: string;
}

export interface KeptSession {
  readonly id: string;
  readonly title: string;
  /** Of its last entry, RFC 3339. */
  readonly at: string;
}

export interface Intents {
  openSheet(file: File): void;
  /** A vosk model that the user brings, as a .tar.gz or all files of its folder; it is kept on the device. */
  openModel(files: readonly File[]): void;
  prepare(change: Partial<Preparing>): void;
  startMicrophone(): void;
  /** Begins the five phrases by which the ear is fitted to the mechanic's voice. */
  fitEar(): void;
  skipPhrase(): void;
  repeatPhrase(): void;
  /** Keeps what came of the phrases, for the mechanic who is named. */
  keepFit(): void;
  /** Leaves the phrases; nothing of them is kept. */
  leaveFitting(): void;
  forgetFit(): void;
  begin(): void;
  /** Goes on with the unfinished session. */
  resume(): void;
  take(entry: Entry): void;
  /** Cuts the mouth short. Called before anything that a key or pointer does. */
  cut(): void;
  /** Saves the record as a file. */
  /** The record as a file; left out: of the session that is shown. */
  download(session?: string): void;
  print(): void;
  /** A new session. */
  again(): void;
  /** Takes the newer version of the app, which loads the page anew. */
  renew(): void;
  /** @param id of a fault */
  dismiss(id: string): void;
}

export interface View {
  readonly screen: ReadonlySignal<'prepare' | 'bench' | 'done'>;
  readonly faults: ReadonlySignal<readonly FaultLine[]>;

  // Prepare
  readonly sheets: ReadonlySignal<readonly Sheet[]>;
  /** What is wrong with the sheet file that was opened last. */
  readonly sheetFaults: ReadonlySignal<readonly string[]>;
  readonly preparing: ReadonlySignal<Preparing>;
  /** Name of the vosk model in use; null where none was brought and none came with the app. */
  readonly model: ReadonlySignal<string | null>;
  readonly loading: ReadonlySignal<readonly Loading[]>;
  readonly level: ReadonlySignal<{ readonly dbfs: number; readonly speaking: boolean }>;
  readonly microphone: ReadonlySignal<'off' | 'opening' | 'open' | 'failed'>;
  readonly testPhrase: ReadonlySignal<{
    readonly wanted: string;
    readonly heard: string | null;
    readonly ok: boolean | null;
  }>;
  /** Who works, stand-ins included; empty where nobody is named yet. */
  readonly mechanic: ReadonlySignal<string>;
  /** How the ear is fitted to the mechanic; it does not hold where the ear has been exchanged since. */
  readonly fit: ReadonlySignal<(KeptFit & { readonly holds: boolean }) | null>;
  /** The phrases of a fit, while they are said. */
  readonly fitting: ReadonlySignal<Fitting | null>;
  readonly unfinished: ReadonlySignal<KeptSession | null>;
  /** The latest signed sessions of this device. */
  readonly signed: ReadonlySignal<readonly KeptSession[]>;
  /** Whether a newer version of the app waits on this device. */
  readonly newer: ReadonlySignal<boolean>;

  // Bench
  readonly book: ReadonlySignal<Book | null>;
  readonly going: ReadonlySignal<Going>;
  readonly prompt: ReadonlySignal<string>;
  /** The last read-back, as a sentence. */
  readonly said: ReadonlySignal<string>;
  readonly heard: ReadonlySignal<HeardLine | null>;
  readonly mouth: ReadonlySignal<'speaking' | 'quiet'>;
  readonly ear: ReadonlySignal<'closed' | 'listening' | 'hearing' | 'off'>;
  readonly choices: ReadonlySignal<readonly Choice[]>;
  /** A handful of examples of what may be said now. */
  readonly mayBeSaid: ReadonlySignal<readonly string[]>;

  readonly intents: Intents;
}
