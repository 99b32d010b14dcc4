// The screen beside the engine: what to do now, where it is, what was heard, and a way to do it all without a voice.
import { useSignal } from '@preact/signals';
import type { RefObject } from 'preact';
import { useEffect, useRef } from 'preact/hooks';
import { type Book, dueValve, overdue, timesSetAgain } from '../procedure/book.ts';
import type { Entry } from '../procedure/entry.ts';
import type { Going } from '../procedure/fold.ts';
import { writeClearance } from '../trade/units.ts';
import { Dial, turnDue } from './dial.tsx';
import { useFit } from './fit.ts';
import { Keypad, typedEntry, type Wanted } from './keypad.tsx';
import { entryOf, isPaused, isQuestion, keyOf, pedalledBy, typedBy } from './keys.ts';
import { cylinderDue, Plan } from './plan.tsx';
import { Practice } from './practice.tsx';
import { expectedNumber, numberDue, progressOf, STAGES, stageOf } from './stages.ts';
import type { Choice, View } from './view.ts';
import {
  entryWords,
  figure,
  limitsWords,
  REJECTED_WORDS,
  REPLY_WORDS,
  STEP_WORDS,
  timeWords,
  valveIdWords,
  valveWords,
} from './words.ts';

/** Milliseconds within which the same key again is a pedal's bouncing contact. */
const BOUNCE = 120;

export function Bench({ view, book }: { view: View; book: Book }) {
  const going = view.going.value;
  const now = useRef<HTMLElement>(null);
  /** What is being typed, and at which moment of the work: at any other moment the keypad is shut. */
  const typing = useSignal<{ text: string; at: string } | null>(null);
  const wanted = numberWanted(book, going);
  const text = wanted && typing.value?.at === momentOf(book) ? typing.value.text : null;
  const type = (next: string | null) => {
    typing.value = next === null ? null : { text: next, at: momentOf(view.book.peek()!) };
  };
  const take = (entry: Entry) => {
    type(null);
    now.current?.focus();
    view.intents.take(entry);
  };

  // Keys can come faster than the screen is drawn, so that each looks at the signals as they are.
  useEffect(() => {
    let last = { key: '', at: 0 };
    const press = (event: KeyboardEvent) => {
      const { key, target } = event;
      // A contact that bounces is one press; an answer counts once.
      const bounce = key === last.key && event.timeStamp - last.at < BOUNCE && !/^\d$/.test(key);
      last = { key, at: event.timeStamp };
      if (bounce || event.repeat || event.ctrlKey || event.altKey || event.metaKey) return;
      if (target instanceof HTMLButtonElement && (key === 'Enter' || key === ' ')) return;
      const does = pressed(key, view, typing.peek());
      if (does === null) return;
      event.preventDefault();
      if ('entry' in does) take(does.entry);
      else type(does.text);
    };
    document.addEventListener('keydown', press);
    return () => document.removeEventListener('keydown', press);
  }, [view]);

  return (
    <div class={`benchScreen ${isQuestion(going) ? 'asks' : isPaused(going) ? 'paused' : 'works'}`}>
      <Strip book={book} onLeave={book.step === 'identify' ? view.intents.again : null} />
      <main>
        <div class="doing">
          <Now view={view} book={book} going={going} focus={now} />
          {text !== null && wanted ? (
            <Keypad text={text} wanted={wanted} onText={type} onEntry={take} onClose={() => type(null)} />
          ) : (
            <Choices choices={view.choices.value} onTake={take} onType={wanted ? () => type('') : null} />
          )}
        </div>
        <div class="knowing">
          <Head book={book} />
          <Ear view={view} />
          <Last book={book} />
        </div>
      </main>
      <Controls going={going} onTake={take} />
    </div>
  );
}

const momentOf = ({ step, nth, station, place, kept }: Book) =>
  [step, nth, station, place, kept.length].join();

function numberWanted(book: Book, going: Going): Wanted | null {
  const due = going === 'work' ? numberDue(book) : null;
  if (due === null) return null;
  const unit = due === 'reading' ? book.sheet.clearance.intake.wanted.unit : null;
  return { unit, withFeel: book.step === 'setDrag' };
}

/** What a key does: an entry, or a change of the number being typed; null where it does nothing. */
function pressed(
  key: string,
  view: View,
  typing: { text: string; at: string } | null,
): { entry: Entry } | { text: string | null } | null {
  const [book, going, choices] = [view.book.peek()!, view.going.peek(), view.choices.peek()];
  const wanted = numberWanted(book, going);
  const text = wanted && typing?.at === momentOf(book) ? typing.text : null;
  if (wanted) {
    if (!choices.some(({ weight }) => weight === 'main')) {
      const pedalled = pedalledBy(key, text, expectedNumber(book), wanted.unit);
      if (pedalled !== null) return { text: pedalled };
    }
    const next = text === null && key === 'Backspace' ? null : typedBy(key, text ?? '');
    if (next !== null) return { text: next };
    if (text !== null && key === 'Escape') return { text: null };
    if (text !== null && (key === 'Enter' || key === 'PageDown')) {
      const entry = typedEntry(text, wanted);
      return entry ? { entry } : { text };
    }
  }
  const entry = entryOf(key, { going, choices });
  return entry && { entry };
}

/** @param onLeave while nothing was begun yet another engine can still be chosen */
function Strip({ book, onLeave }: { book: Book; onLeave: (() => void) | null }) {
  const stage = stageOf(book);
  const here = STAGES.indexOf(stage);
  return (
    <header class="strip">
      <h1>
        {book.sheet.title} {book.sheet.invented && <Practice />}{' '}
        {onLeave && (
          <button type="button" class="leave" onClick={onLeave}>
            Choose another engine
          </button>
        )}
      </h1>
      <p class="stageName" aria-hidden="true">
        {here + 1} of {STAGES.length} · {stage}
      </p>
      <ol aria-label="Stages of the job">
        {STAGES.map((name, k) => (
          <li
            key={name}
            class={k < here ? 'past' : k === here ? 'here' : 'ahead'}
            aria-current={k === here ? 'step' : undefined}
          >
            <span aria-hidden="true">{k < here ? '✓' : k + 1}</span>
            {name}
            {k < here && <span class="unseen"> (done)</span>}
          </li>
        ))}
      </ol>
    </header>
  );
}

const HEADINGS: Record<Going, string> = {
  work: 'Now',
  asking: 'Question · yes or no?',
  standBy: 'Standing by · only “carry on” and “stop” are heard',
  stopped: 'Stopped · only “carry on” is heard',
  offer: 'Before going on · yes or no?',
  still: 'Before going on · yes or no?',
};

interface NowProps {
  readonly view: View;
  readonly book: Book;
  readonly going: Going;
  readonly focus: RefObject<HTMLElement | null>;
}

function Now({ view, book, going, focus }: NowProps) {
  const prompt = view.prompt.value;
  const progress = progressOf(book);
  const turn = going === 'work' ? turnDue(book) : null;
  const { kind } = book.reply;
  useFit(focus);
  return (
    <section class="now" aria-labelledby="now-title" tabIndex={-1} ref={focus}>
      {isQuestion(going) && (
        <span class="asking" aria-hidden="true">
          ?
        </span>
      )}
      <div class="task">
        <h2 id="now-title">
          {HEADINGS[going]}
          {going === 'work' && progress && <span> · {progress}</span>}
        </h2>
        <p class="prompt" aria-live="polite">
          {prompt}
        </p>
        {going === 'work' && <Figures book={book} />}
      </div>
      {turn && <Dial book={book} turn={turn} />}
      <p class={`said ${kind}`} aria-live="polite">
        {view.said.value && view.said.value !== prompt && (
          <>
            <strong>{REPLY_WORDS[kind]}</strong> {view.said.value}
          </>
        )}
      </p>
    </section>
  );
}

/** The figures of the due valve, or of the instruments where they are asked about. */
function Figures({ book }: { book: Book }) {
  const due = dueValve(book);
  if (book.step === 'instruments') {
    const late = overdue(book);
    return (
      <dl class="figures">
        {book.instruments.map((instrument) => (
          <div key={instrument.what}>
            <dt>{instrument.what}</dt>
            <dd>
              {instrument.id}, due {instrument.due}
              {late.includes(instrument) && <em> overdue</em>}
            </dd>
          </div>
        ))}
      </dl>
    );
  }
  if (!due) return null;
  const limits = book.sheet.clearance[due.valve.side];
  const rows = [
    ['wanted', `${writeClearance(limits.wanted)} (${limitsWords(limits)})`],
    ['found', due.found && figure(due.found)],
    ['blade', book.blade && figure(book.blade)],
    ['set', due.set && figure(due.set)],
    ['after torque', due.torqued && figure(due.torqued)],
    ['left', due.left && (due.left === 'go and no-go' ? due.left : figure(due.left))],
    ['set again', timesSetAgain(due) > 0 && `${timesSetAgain(due)} ×`],
  ];
  return (
    <dl class="figures" aria-label={valveWords(due.valve)}>
      {rows.map(
        ([name, value]) =>
          value && (
            <div key={name}>
              <dt>{name}</dt>
              <dd>{value}</dd>
            </div>
          ),
      )}
    </dl>
  );
}

interface ChoicesProps {
  readonly choices: readonly Choice[];
  onTake(entry: Entry): void;
  /** null where no number is wanted */
  readonly onType: (() => void) | null;
}

function Choices({ choices, onTake, onType }: ChoicesProps) {
  const hasMain = choices.some(({ weight }) => weight === 'main');
  return (
    <section class="choices" aria-label="By touch or key">
      {onType && (
        <button type="button" class={hasMain ? 'other' : 'main'} onClick={onType}>
          Enter a figure <kbd>0–9</kbd>
        </button>
      )}
      {choices.map((choice) => (
        <button
          key={choice.label}
          type="button"
          class={choice.weight}
          onClick={(event) => isFirstClick(event) && onTake(choice.entry)}
        >
          {choice.label} {keyOf(choice) && <kbd>{keyOf(choice)}</kbd>}
        </button>
      ))}
    </section>
  );
}

/** The second click of a double click would answer a step that nobody has read yet. */
const isFirstClick = (event: MouseEvent) => event.detail < 2;

function Head({ book }: { book: Book }) {
  const frame = useRef<HTMLElement>(null);
  const due = cylinderDue(book);
  // On a narrow screen the plan is wider than its frame: keep the due cylinder in sight.
  useEffect(() => {
    const box = frame.current;
    const cylinder = box?.querySelector('.cylinder.due');
    if (due === undefined || !box || !cylinder) return;
    const { left, width } = cylinder.getBoundingClientRect();
    box.scrollLeft += left + width / 2 - box.getBoundingClientRect().left - box.clientWidth / 2;
  }, [due]);
  return (
    // biome-ignore lint/a11y/noNoninteractiveTabindex: a part that scrolls must be reachable by keyboard
    <section class="head" aria-label="The head from above" tabIndex={0} ref={frame}>
      <Plan book={book} />
    </section>
  );
}

const EAR_WORDS = {
  closed: 'Ear closed while speaking',
  listening: 'Listening',
  hearing: 'Hearing you',
  off: 'Ear off: touch, keys or pedal',
};

function Ear({ view }: { view: View }) {
  const ear = view.mouth.value === 'speaking' && view.ear.value !== 'off' ? 'closed' : view.ear.value;
  const heard = view.heard.value;
  const microphone = view.microphone.value;
  return (
    <section class="ear" aria-label="Voice">
      <p class={`earState ${ear}`}>
        <svg viewBox="0 0 32 32" aria-hidden="true">
          <path d="M9 13 a8 8 0 0 1 16 0 c0 5 -5 5 -5 10 a5 5 0 0 1 -9 2" />
          <path d="M13 14 a4 4 0 0 1 8 0" />
          {(ear === 'closed' || ear === 'off') && <path class="bar" d="M4 28 L28 4" />}
          {ear === 'hearing' && <path d="M2 8 v10 M29 8 v10" />}
        </svg>
        {EAR_WORDS[ear]}
      </p>
      {(microphone === 'off' || microphone === 'failed') && (
        <button type="button" onClick={() => view.intents.startMicrophone()}>
          Turn the microphone on
        </button>
      )}
      <p class={`heard ${heard?.rejected ?? 'taken'}`} aria-live="polite">
        {heard ? (
          <>
            Heard {heard.text ? <q>{heard.text}</q> : 'something'}{' '}
            <small>{Math.round(heard.confidence * 100)} %</small>
            {heard.rejected && <em>{REJECTED_WORDS[heard.rejected]}</em>}
          </>
        ) : (
          'Nothing heard yet'
        )}
      </p>
      <div class="mayBeSaid">
        <h3>You may say</h3>
        <ul>
          {view.mayBeSaid.value.map((phrase) => (
            <li key={phrase}>“{phrase}”</li>
          ))}
        </ul>
      </div>
    </section>
  );
}

const LAST = 6;

function Last({ book }: { book: Book }) {
  return (
    <section class="last" aria-labelledby="last-title">
      <h3 id="last-title">Last entries</h3>
      <ol>
        {book.kept
          .slice(-LAST)
          .reverse()
          .map(({ seq, at, step, valve, entry, superseded }) => {
            const place = valve ? valveIdWords(valve) : STEP_WORDS[step];
            const words = [place, entryWords(entry)].filter(Boolean).join(': ');
            return (
              <li key={seq}>
                <time dateTime={at}>{timeWords(at)}</time>
                {superseded ? (
                  <span>
                    <s>{words}</s> superseded
                  </span>
                ) : (
                  <span>{words}</span>
                )}
              </li>
            );
          })}
      </ol>
    </section>
  );
}

function Controls({ going, onTake }: { going: Going; onTake(entry: Entry): void }) {
  const paused = isPaused(going);
  return (
    <nav class="controls" aria-label="Always there">
      <Control label="Say again" keyName="Space" onPress={() => onTake({ type: 'sayAgain' })} />
      <Control label="Correction" keyName="Esc" onPress={() => onTake({ type: 'correction' })} />
      <Control
        label={paused ? 'Carry on' : 'Stand by'}
        keyName="Home"
        weight={paused ? 'main' : 'other'}
        onPress={() => onTake({ type: paused ? 'carryOn' : 'standBy' })}
      />
      <Control label="Go back" keyName="Del" onPress={() => onTake({ type: 'goBack' })} />
      <Control label="Mark lost" keyName="Ins" onPress={() => onTake({ type: 'lost' })} />
      <Control label="Stop" keyName="End" weight="grave" onPress={() => onTake({ type: 'stop' })} />
    </nav>
  );
}

interface ControlProps {
  readonly label: string;
  readonly keyName: string;
  readonly weight?: Choice['weight'];
  onPress(): void;
}

function Control({ label, keyName, weight = 'other', onPress }: ControlProps) {
  return (
    <button type="button" class={weight} onClick={(event) => isFirstClick(event) && onPress()}>
      {label} <kbd>{keyName}</kbd>
    </button>
  );
}
