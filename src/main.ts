// Wires the rooms together; the only file that knows them all. Ear and mouth take turns: the ear is shut while the mouth
// speaks and a moment after, and what was heard is on the disk before it is read back.

import { registerSW } from 'virtual:pwa-register';
import { batch, computed, effect, signal } from '@preact/signals';
import { createStore, del, get, set, values } from 'idb-keyval';
import { EAR, type Ear, openEar } from './hearing/ear.ts';
import {
  afterPhrase,
  beginFitting,
  type EarFit,
  type Fitting,
  fitOf,
  phraseDue,
  repeatPhrase,
  skipPhrase,
} from './hearing/fit.ts';
import type { Heard, Recogniser } from './hearing/recogniser.ts';
import {
  fitKey,
  fitsFromKept,
  fittedEar,
  fromKept,
  type KeptEntry,
  type KeptFit,
  keptEntry,
  openingEvent,
  recordOf,
  toKept,
} from './kept.ts';
import { type Logbook, LogbookFault, openLogbook, type SessionHead } from './logbook/logbook.ts';
import { writeRecord } from './logbook/record.ts';
import { choicesFor, examples } from './phrases/choices.ts';
import { FIT_PHRASES } from './phrases/fitting.ts';
import { graphOf } from './phrases/wordgraph.ts';
import type { Book, Opening } from './procedure/book.ts';
import type { Entry } from './procedure/entry.ts';
import { type Event, fold, type Going, placeName } from './procedure/fold.ts';
import { render } from './screens/app.tsx';
import { keepDraft, keptDraft } from './screens/draft.ts';
import { instrumentsOf, peopleOf } from './screens/people.ts';
import type { Choice, FaultLine, HeardLine, KeptSession, Loading, Preparing, View } from './screens/view.ts';
import { type Outcome, Session } from './session.ts';
import { type Mouth, openMouth } from './speaking/mouth.ts';
import { demoSheets } from './trade/demos.ts';
import { readSheet } from './trade/sheet.ts';

/** After the mouth is quiet the ear stays shut so long, for the room's echo (ms). */
const ECHO = 150;
const TEST_PHRASE = 'stand by';
/** Away for longer than this (ms), a session was interrupted. */
const INTERRUPTION = 10 * 60_000;

/** Vosk needs a looser policy than the strict ear, so it has a page of its own, with this same program. */
const ON_VOSK_PAGE = location.pathname.endsWith('/vosk.html');
/** Where the model lies that the user brought, as a File. */
const models = () => createStore('lashwright models', 'models');
/** Fits of the ear, each under its person's key. */
const fitStore = () => createStore('lashwright fits', 'fits');

/** What was filled in before the page was loaded anew. */
const draft = keptDraft();

const state = {
  screen: signal<'prepare' | 'bench' | 'done'>('prepare'),
  faults: signal<readonly FaultLine[]>([]),
  sheets: signal([
    ...demoSheets.filter(({ id }) => !draft?.sheets.some((own) => own.id === id)),
    ...(draft?.sheets ?? []),
  ]),
  sheetFaults: signal<readonly string[]>([]),
  preparing: signal<Preparing>({
    sheet: demoSheets[0]!.id,
    mechanic: '',
    inspector: '',
    instruments: [
      { what: 'feeler gauge', id: '', due: '' },
      { what: 'torque wrench', id: '', due: '' },
    ],
    voice: 'built-in',
    askAlways: false,
    ...draft?.preparing,
    engine: ON_VOSK_PAGE ? 'vosk' : 'strict',
  }),
  loading: signal<readonly Loading[]>([]),
  level: signal({ dbfs: -120, speaking: false }),
  microphone: signal<'off' | 'opening' | 'open' | 'failed'>('off'),
  testPhrase: signal<{ wanted: string; heard: string | null; ok: boolean | null }>({
    wanted: TEST_PHRASE,
    heard: null,
    ok: null,
  }),
  fitting: signal<Fitting | null>(null),
  model: signal<string | null>(null),
  unfinished: signal<KeptSession | null>(null),
  signed: signal<readonly KeptSession[]>([]),
  newer: signal(false),
  book: signal<Book | null>(null),
  going: signal<Going>('work'),
  prompt: signal(''),
  said: signal(''),
  heard: signal<HeardLine | null>(null),
  mouth: signal<'speaking' | 'quiet'>('quiet'),
  ear: signal<'closed' | 'listening' | 'hearing' | 'off'>('off'),
  choices: signal<readonly Choice[]>([]),
  mayBeSaid: signal<readonly string[]>([]),
};

/** The fits on this device, and that of the mechanic who is named. */
const fits = signal<ReadonlyMap<string, KeptFit>>(new Map());
const mechanic = computed(() => {
  const sheet = state.sheets.value.find(({ id }) => id === state.preparing.value.sheet);
  return peopleOf(state.preparing.value, sheet ?? { invented: false, inspection: false }).mechanic;
});
const fit = computed(() => {
  const kept = ON_VOSK_PAGE ? undefined : fits.value.get(fitKey(mechanic.value));
  return kept ? { ...kept, holds: kept.ear === EAR } : null;
});

let ear: Ear | null = null;
/** The other engine, with the model that was brought last. */
let vosk: Recogniser | null = null;
let mouth: Mouth | null = null;
/** What the mouth was opened for. */
let mouthFor: Preparing['voice'] | null = null;
let logbook: Logbook<KeptEntry> | null = null;
let session: Session | null = null;
let sessionId = '';
/** Rises with everything that is to be said, so that only the latest reopens the ear. */
let turn = 0;
/** From the moment something is to be said until the ear may open again. */
let isTalking = false;

// Faults: one clear sentence each, never in the way

function fault(id: string, error: unknown): void {
  const sentence = error instanceof Error ? error.message : String(error);
  state.faults.value = [...state.faults.value.filter((other) => other.id !== id), { id, sentence }];
}
function mended(id: string): void {
  state.faults.value = state.faults.value.filter((other) => other.id !== id);
}

// Ear and mouth

function progress(what: string, loaded: number, total: number | null, done = false): void {
  const others = state.loading.value.filter((other) => other.what !== what);
  state.loading.value = [...others, { what, loaded, total, done }];
}

async function openVoice(): Promise<void> {
  const { voice } = state.preparing.value;
  if (mouth && mouthFor === voice) return;
  mouth?.close();
  const opened = await openMouth({
    prefer: voice,
    onProgress: ({ loaded, total }) => progress('voice', loaded, total),
    onFault: ({ voice: failed, reason, next }) =>
      fault(
        `voice ${failed}`,
        `${reason} ${next === null ? 'Read from the screen.' : `Now speaking: ${next}.`}`,
      ),
  });
  mouth = opened;
  mouthFor = voice;
  if (opened.voice !== null) progress('voice', 1, 1, true);
  opened.onSpeaking((speaking) => {
    state.mouth.value = speaking ? 'speaking' : 'quiet';
  });
  opened.onFirstSound((at) => tell('sound', { at }));
}

async function openMicrophone(): Promise<void> {
  state.microphone.value = 'opening';
  mended('microphone');
  try {
    if (ear) await ear.setDevice();
    else ear = follow(await openEar({ onProgress: (got, all) => progress('ear', got, all) }));
    progress('ear', 1, 1, true);
    if (ON_VOSK_PAGE) await useVosk(ear);
    state.microphone.value = 'open';
    await listen();
  } catch (error) {
    state.microphone.value = 'failed';
    state.ear.value = 'off';
    fault('microphone', error);
  }
}

/** Lets vosk say what was heard, with the model that the user brought, else with the one that came with the app. */
async function useVosk(opened: Ear): Promise<void> {
  if (vosk) return;
  const { openVosk } = await import('./hearing/vosk.ts');
  const { comesWithModel, fetchSupplied } = await import('./hearing/vosk-supplied.ts');
  const brought = await broughtModel();
  if (!brought && !comesWithModel())
    throw new Error('Vosk has no model yet: choose one first. Touch and keys still work.');
  const onProgress = (got: number, all: number | null) => progress('vosk model', got, all);
  const engine = await openVosk({ model: brought ?? (await fetchSupplied(onProgress)) });
  await opened.use(engine).catch((error) => {
    engine.close();
    throw error;
  });
  vosk = engine;
  progress('vosk model', 1, 1, true);
}

/** @param files a packed model, or those of its folder. */
async function keepModel(files: readonly File[]): Promise<void> {
  mended('model');
  try {
    const { packFolder, readArchive } = await import('./hearing/vosk-archive.ts');
    const [first] = files;
    const [folder] = first!.webkitRelativePath.split('/');
    const model = folder
      ? new File([await packFolder(new Map(files.map((file) => [file.webkitRelativePath, file])))], folder)
      : first!;
    await readArchive(model);
    try {
      await set('vosk', model, models());
    } catch (error) {
      throw new Error(`The model could not be kept on this device: ${error}`);
    }
    state.model.value = model.name;
  } catch (error) {
    fault('model', error);
    return;
  }
  vosk?.close();
  vosk = null;
  mended('ear');
  // What is heard from now on is heard with it.
  if (state.microphone.value === 'open') await openMicrophone();
}

/** Undefined also where the browser keeps nothing. */
async function broughtModel(): Promise<File | undefined> {
  try {
    return await get<File>('vosk', models());
  } catch {
    return undefined;
  }
}

async function showModel(): Promise<void> {
  const { comesWithModel } = await import('./hearing/vosk-supplied.ts');
  const brought = await broughtModel();
  state.model.value = brought?.name ?? (comesWithModel() ? 'the one in models/vosk' : null);
}

function follow(opened: Ear): Ear {
  opened.onLevel(({ dBFS, speaking }) => {
    state.level.value = { dbfs: dBFS, speaking };
    if (state.ear.value !== 'closed') state.ear.value = speaking ? 'hearing' : 'listening';
  });
  opened.onHeard((heard, samples) => void hear(heard, samples));
  opened.onLost((lost) => {
    state.microphone.value = 'failed';
    state.ear.value = 'off';
    fault('microphone', lost);
  });
  return opened;
}

async function hear(heard: Heard, samples: Float32Array): Promise<void> {
  if (state.fitting.value) return studyPhrase(state.fitting.value, heard, samples);
  state.heard.value = heard;
  tell('heard', { text: heard.text, rejected: heard.rejected });
  if (!session) {
    state.testPhrase.value = { wanted: TEST_PHRASE, heard: heard.text, ok: heard.rejected === null };
    return;
  }
  const current = session;
  await act(() => current.hear(heard));
}

/** Opens the ear for what may be said now; while the mouth has the turn, it does so at its end. */
async function listen(): Promise<void> {
  if (!ear || state.microphone.value !== 'open') return;
  if (isTalking) {
    state.ear.value = 'closed';
    return;
  }
  const fitting = state.fitting.value;
  const phrase = fitting ? phraseDue(fitting) : TEST_PHRASE;
  if (phrase === null) return hush();
  const mine = turn;
  try {
    void ear.fit(fitNow());
    await ear.expect(session ? session.graph : graphOf([phrase]));
    mended('ear');
  } catch (error) {
    state.ear.value = 'off';
    fault('ear', error);
    return;
  }
  // Meanwhile the mouth may have taken the turn, or the microphone gone away.
  if (mine !== turn || state.microphone.value !== 'open') return;
  if (state.fitting.value !== fitting) return;
  ear.listen(true);
  state.ear.value = 'listening';
}

/** Shuts the ear until the next `listen`. */
function hush(): void {
  ear?.listen(false);
  if (state.microphone.value === 'open') state.ear.value = 'closed';
}

/** Says sentences in order with the ear shut, then listens. */
async function speak(sentences: readonly string[], tone: Outcome['tone']): Promise<void> {
  const mine = ++turn;
  isTalking = true;
  hush();
  const said = sentences.filter((sentence) => sentence !== '');
  if (mouth) {
    if (tone === 'asked' || tone === 'refused') void mouth.tone(tone);
    await Promise.all(said.map((sentence) => mouth!.say(sentence)));
    await new Promise((resolve) => setTimeout(resolve, ECHO));
  }
  if (mine !== turn) return;
  isTalking = false;
  prepareVoice();
  await listen();
  tell('listening', {
    place: session ? placeName(session.moment) : null,
    going: session?.going,
    book: session?.book,
  });
}

/** The likely answers' read-backs are made ready, so that speaking starts at once. */
function prepareVoice(): void {
  if (session) mouth?.prepare(session.likely());
}

/** For the robot in the tests and for measuring: what happens, as events of the document. */
function tell(what: 'listening' | 'heard' | 'sound', detail: unknown): void {
  document.dispatchEvent(new CustomEvent(`lashwright:${what}`, { detail }));
}

// The fit of the ear to a voice

/** While the phrases are said nobody's; in a session the one that it was begun with. */
function fitNow(): EarFit | null {
  if (state.fitting.value) return null;
  if (session) return session.book.fit ?? null;
  return fit.value?.holds ? fit.value : null;
}

async function studyPhrase(fitting: Fitting, { rejected }: Heard, samples: Float32Array): Promise<void> {
  const phrase = phraseDue(fitting);
  if (!ear || phrase === null) return;
  hush();
  const study = rejected === 'noise' ? null : await ear.study(samples, phrase);
  // Meanwhile the phrase may have been skipped, or all of it left.
  if (state.fitting.value === fitting) fitWith(afterPhrase(fitting, study));
}

/** null: leaves, and keeps nothing. */
function fitWith(fitting: Fitting | null): void {
  hush();
  state.fitting.value = fitting;
  void listen();
}

async function keepFit(): Promise<void> {
  const made = state.fitting.value && fitOf(state.fitting.value.studies);
  if (!ear || !made) return;
  const thresholds = await ear.fit(made);
  const kept: KeptFit = {
    ...made,
    ...thresholds,
    person: mechanic.value,
    at: new Date().toISOString(),
    ear: EAR,
  };
  if (await changeFits(() => set(fitKey(kept.person), kept, fitStore()))) fitWith(null);
}

/** @returns whether it could be done */
async function changeFits(change: () => Promise<void>): Promise<boolean> {
  mended('fit');
  try {
    await change();
  } catch (error) {
    fault('fit', new Error(`The fit of the ear could not be changed on this device: ${error}`));
    return false;
  }
  await showFits();
  return true;
}

/** Where the browser keeps nothing there are none. */
async function showFits(): Promise<void> {
  fits.value = fitsFromKept(await values(fitStore()).catch(() => []));
}

// The session

function show(): void {
  if (!session) return;
  const { book, going, prompt, isSigned } = session;
  batch(() => {
    state.book.value = book;
    state.going.value = going;
    state.prompt.value = prompt;
    state.choices.value = choicesFor(book, going);
    state.mayBeSaid.value = examples(book, going);
    state.screen.value = isSigned ? 'done' : 'bench';
  });
}

async function act(work: () => Promise<Outcome>): Promise<void> {
  let outcome: Outcome;
  try {
    outcome = await work();
  } catch (error) {
    fault('logbook', error);
    await speak(['Not entered: it could not be kept. Look at the screen.'], 'refused');
    return;
  }
  mended('logbook');
  show();
  if (outcome.tone === null) return;
  state.said.value = outcome.readBack;
  await speak([outcome.readBack, outcome.prompt], outcome.tone);
}

function start(id: string, opening: Opening, events: readonly Event[]): void {
  sessionId = id;
  session = new Session({
    opening,
    events,
    now: () => new Date().toISOString(),
    keep: (event, closes) => logbook!.append(toKept(id, event), closes ? 'signed' : undefined),
  });
  state.heard.value = null;
  state.said.value = '';
  show();
  void keepAwake();
  void speak([session.prompt], null);
}

async function begin(): Promise<void> {
  const { sheet: sheetId, askAlways } = state.preparing.value;
  const sheet = state.sheets.value.find((other) => other.id === sheetId);
  if (!sheet) return;
  const people = peopleOf(state.preparing.value, sheet);
  if (people.mechanic === '' || people.inspector === '') return;
  try {
    const book = await openedLogbook();
    await openVoice();
    const opening: Opening = {
      sheet,
      ...people,
      instruments: instrumentsOf(state.preparing.value.instruments, sheet, new Date().getFullYear()),
      openedAt: new Date().toISOString(),
      askAlways,
      ...(fit.value?.holds ? { fit: fittedEar(fit.value) } : {}),
    };
    const id = `${opening.openedAt.replace(/\D/g, '').slice(0, 14)}-${sheet.id}`;
    await book.begin(id, sheet.title, opening.openedAt);
    await book.append(openingEvent(id, opening));
    start(id, opening, []);
  } catch (error) {
    fault('logbook', error);
  }
}

async function resume(): Promise<void> {
  const unfinished = state.unfinished.value;
  if (!unfinished) return;
  try {
    const book = await openedLogbook();
    await openVoice();
    const { events, cutOff } = await book.events(unfinished.id);
    if (cutOff > 0)
      fault(
        'cut off',
        `The last ${cutOff} entries were not whole and were left out. Look where you are before going on.`,
      );
    const kept = fromKept(events);
    if (state.microphone.value === 'off') void openMicrophone();
    start(unfinished.id, kept.opening, kept.events);
    // After a long while away it is an interruption like any other: three steps back are offered, the crank asked for.
    const away = Date.now() - Date.parse(unfinished.at);
    const current = session;
    if (current && away > INTERRUPTION && current.going === 'work')
      await act(() => current.take({ type: 'stop' }));
  } catch (error) {
    fault('logbook', error);
  }
}

async function openedLogbook(): Promise<Logbook<KeptEntry>> {
  logbook ??= await openLogbook(keptEntry);
  await logbook.takePen();
  return logbook;
}

/** So many signed sessions are shown, the latest. */
const SHOWN = 5;
const keptSession = ({ session: id, title, last: at }: SessionHead): KeptSession => ({ id, title, at });

/** Sessions on this device: one to go on with, and the signed ones, whose records can be saved again. */
async function lookForSessions(): Promise<void> {
  try {
    logbook ??= await openLogbook(keptEntry);
    const latest = await latestBegun(logbook);
    state.unfinished.value = latest ? keptSession(latest) : null;
    const signed = (await logbook.sessions()).filter((head): head is SessionHead => head.state === 'signed');
    state.signed.value = signed.slice(0, SHOWN).map(keptSession);
    if ((await logbook.persist()) === 'refused' && navigator.storage === undefined) {
      fault(
        'storage',
        'This browser may clear records when space is short. Save the record as a file when done.',
      );
    }
  } catch (error) {
    fault('logbook', error instanceof LogbookFault ? error : new Error(`Records cannot be kept: ${error}`));
  }
}

/** The latest session to go on with. One in which not even the engine was affirmed was left, not broken off. */
async function latestBegun(book: Logbook<KeptEntry>): Promise<SessionHead | null> {
  for (const head of await book.unfinished()) {
    const { events } = await book.events(head.session);
    try {
      const { opening, events: since } = fromKept(events);
      if (fold(opening, since).context.step === 'identify') continue;
    } catch {
      // It is offered all the same, and says what is wrong with it.
    }
    return head;
  }
  return null;
}

/** Gives the record of a session on this device as a file. */
async function download(id: string): Promise<void> {
  try {
    logbook ??= await openLogbook(keptEntry);
    const { events } = await logbook.events(id);
    const kept = fromKept(events);
    const { context: book } = fold(kept.opening, kept.events);
    const blob = new Blob([writeRecord(recordOf(id, book, events))], { type: 'application/json' });
    const link = document.createElement('a');
    link.href = URL.createObjectURL(blob);
    link.download = `${id}.json`;
    link.click();
    setTimeout(() => URL.revokeObjectURL(link.href), 1000);
  } catch (error) {
    fault('record', error);
  }
}

async function openSheet(file: File): Promise<void> {
  const result = readSheet(await file.text());
  state.sheetFaults.value = result.ok ? [] : result.faults;
  if (!result.ok) return;
  state.sheets.value = [...state.sheets.value.filter((other) => other.id !== result.sheet.id), result.sheet];
  state.preparing.value = { ...state.preparing.value, sheet: result.sheet.id };
}

/** The screen stays on while there is work. */
async function keepAwake(): Promise<void> {
  if (!session || session.isSigned || document.visibilityState !== 'visible') return;
  await navigator.wakeLock?.request('screen').catch(() => undefined);
}

// A newer version of the app waits on the device until it is asked for, so that it never breaks into a session.

const takeNewer = registerSW({
  immediate: true,
  onNeedRefresh: () => {
    state.newer.value = true;
  },
});

async function renew(): Promise<void> {
  try {
    // It loads every tab anew: only who has the pen may do that.
    await openedLogbook();
    await takeNewer();
  } catch (error) {
    fault('logbook', error);
  }
}

const view: View = {
  ...state,
  mechanic,
  fit,
  intents: {
    openSheet: (file) => void openSheet(file),
    openModel: (files) => void keepModel(files),
    prepare: (change) => {
      if (change.engine && change.engine !== state.preparing.value.engine) {
        location.assign(change.engine === 'vosk' ? 'vosk.html' : './');
      }
      state.preparing.value = { ...state.preparing.value, ...change };
    },
    startMicrophone: () => void openMicrophone(),
    fitEar: () => fitWith(beginFitting(FIT_PHRASES)),
    skipPhrase: () => state.fitting.value && fitWith(skipPhrase(state.fitting.value)),
    repeatPhrase: () => state.fitting.value && fitWith(repeatPhrase(state.fitting.value)),
    keepFit: () => void keepFit(),
    leaveFitting: () => fitWith(null),
    forgetFit: () => void changeFits(() => del(fitKey(mechanic.value), fitStore())),
    begin: () => void begin(),
    resume: () => void resume(),
    take: (entry: Entry) => {
      const current = session;
      if (current) void act(() => current.take(entry));
    },
    cut: () => mouth?.cut(),
    download: (id = sessionId) => void download(id),
    print: () => window.print(),
    again: () => {
      mouth?.cut();
      session = null;
      state.book.value = null;
      state.screen.value = 'prepare';
      void lookForSessions();
    },
    renew: () => void renew(),
    dismiss: mended,
  },
};

document.addEventListener('visibilitychange', () => void keepAwake());
effect(() => {
  document.title = state.book.value ? `${state.book.value.sheet.title} · Lashwright` : 'Lashwright';
});
effect(() => {
  const next = fitNow();
  void ear?.fit(next);
});
effect(() =>
  keepDraft({
    preparing: state.preparing.value,
    sheets: state.sheets.value.filter((sheet) => !demoSheets.includes(sheet)),
  }),
);
render(view, document.getElementById('root')!);
void lookForSessions();
if (!ON_VOSK_PAGE) void showFits();
if (ON_VOSK_PAGE) void showModel();
