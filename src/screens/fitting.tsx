// The ear fitted to a voice: five phrases, large enough to be read from two metres, what came of them, and what is kept.
import type { ComponentChildren } from 'preact';
import { useEffect, useRef } from 'preact/hooks';
import { type EarFit, ENOUGH, type Fitting, fitOf, phraseDue } from '../hearing/fit.ts';
import { useFit } from './fit.ts';
import { Level } from './level.tsx';
import type { View } from './view.ts';
import { dayWords, respelt } from './words.ts';

/** On Prepare: how the ear is fitted to the mechanic, and the way to fit it. */
export function SpeakerFit({ view }: { view: View }) {
  const fit = view.fit.value;
  const isOpen = view.microphone.value === 'open';
  const isNamed = view.mechanic.value !== '';
  if (!isOpen && !fit) return null;
  return (
    <section class="speakerFit" aria-labelledby="fit-title">
      <h3 id="fit-title">Speaker fit</h3>
      {fit && (
        <>
          <p>
            <strong>Ear fitted to {fit.person}</strong> on {dayWords(fit.at)}
            {fit.holds
              ? `: ${acceptsWords(fit)}.`
              : '. This app has another ear since then, so the fit does not hold: fit it anew.'}
          </p>
          {fit.holds && <Says fit={fit} />}
        </>
      )}
      <p id="fit-what">
        {isNamed
          ? 'Five phrases adjust the ear a little to one voice. Nothing else is learned, and nothing without being asked for.'
          : "Give the mechanic's name first: a fit is kept for one person."}
      </p>
      <div class="row">
        {isOpen && (
          <button
            type="button"
            id="fit"
            aria-disabled={!isNamed}
            aria-describedby="fit-what"
            onClick={() => isNamed && view.intents.fitEar()}
          >
            {fit ? 'Fit it anew' : 'Fit the ear to my voice'}
          </button>
        )}
        {fit && (
          <button type="button" onClick={() => view.intents.forgetFit()}>
            Forget the fit
          </button>
        )}
      </div>
    </section>
  );
}

function acceptsWords({ accepts }: EarFit): string {
  return accepts > 1
    ? `the ear accepts a little more of this voice (${Math.round(100 * (accepts - 1))} %) before it asks back`
    : 'the voice is clear, so the ear accepts as much as without a fit';
}

/** Words of several pronunciations, as this voice says them. */
function Says({ fit }: { fit: EarFit }) {
  const words = Object.entries(fit.says);
  if (words.length === 0) return null;
  return (
    <details>
      <summary>
        Expects {words.length} {words.length === 1 ? 'word' : 'words'} as this voice says{' '}
        {words.length === 1 ? 'it' : 'them'}
      </summary>
      <ul class="says">
        {words.map(([word, way]) => (
          <li key={word}>
            {word} <q>{respelt(way)}</q>
          </li>
        ))}
      </ul>
      <p>Said in another way, they are asked back sooner.</p>
    </details>
  );
}

const WHY: Record<NonNullable<Fitting['why']>, string> = {
  noise: 'That was a noise, no speech.',
  unheard: 'That was not this phrase. Say it again.',
  quiet: 'Too quiet. Move the microphone nearer to your mouth, then say it again.',
  clipped: 'Too loud, the sound is cut off. Move the microphone away a little, then say it again.',
  noisy:
    'Too much noise around you. Move the microphone nearer or wait until it is quieter, then say it again.',
};

const HEARS: Record<View['ear']['value'], string> = {
  listening: 'Listening',
  hearing: 'Hearing you',
  closed: 'One moment',
  off: 'Ear off',
};

export function FittingScreen({ view, fitting }: { view: View; fitting: Fitting }) {
  const phrase = phraseDue(fitting);
  const heading = useRef<HTMLHeadingElement>(null);
  const isOver = phrase === null;
  useEffect(() => heading.current?.focus(), [isOver]);
  useEffect(() => {
    const press = ({ key }: KeyboardEvent) => {
      if (key === 'Escape') view.intents.leaveFitting();
    };
    document.addEventListener('keydown', press);
    return () => {
      document.removeEventListener('keydown', press);
      // Back where it was begun, as soon as Prepare is drawn again.
      requestAnimationFrame(() => document.getElementById('fit')?.focus());
    };
  }, [view]);
  return (
    <main class="fitting">
      <header>
        <h1 ref={heading} tabIndex={-1}>
          {isOver
            ? 'What the five phrases told'
            : `Phrase ${fitting.studies.length + 1} of ${fitting.phrases.length}`}
        </h1>
        <ol class="marks" aria-label="Phrases so far">
          {fitting.phrases.map((each, k) => {
            const study = fitting.studies[k];
            const is = study ? 'heard' : study === null ? 'left out' : 'to come';
            return (
              <li key={each} class={is.replace(' ', '')}>
                <span class="unseen">{`${each}: ${is}`}</span>
                <span aria-hidden="true">{study ? '✓' : study === null ? '–' : k + 1}</span>
              </li>
            );
          })}
        </ol>
      </header>
      {isOver ? (
        <Result view={view} fitting={fitting} />
      ) : (
        <Due view={view} fitting={fitting} phrase={phrase} />
      )}
    </main>
  );
}

function Due({ view, fitting, phrase }: { view: View; fitting: Fitting; phrase: string }) {
  const frame = useRef<HTMLElement>(null);
  useFit(frame);
  const isOpen = view.microphone.value === 'open';
  return (
    <>
      <section class="due" ref={frame} aria-live="polite">
        <p>Say</p>
        <p class="say">{phrase}</p>
      </section>
      <p class={`verdict ${fitting.why === null ? '' : 'bad'}`} role="status">
        {!isOpen
          ? 'The microphone is off. What was said so far is not lost.'
          : fitting.why
            ? `✗ ${WHY[fitting.why]}`
            : fitting.studies.at(-1)
              ? '✓ Heard. Now the next one, as you would say it at the engine.'
              : 'Say it as you would at the engine.'}
      </p>
      {isOpen && (
        <div class="hearing">
          <p>{HEARS[view.ear.value]}</p>
          <Level view={view} />
        </div>
      )}
      <Buttons leave="Leave, keep nothing" view={view}>
        {!isOpen && (
          <button type="button" class="main" onClick={() => view.intents.startMicrophone()}>
            Turn the microphone on
          </button>
        )}
        {fitting.studies.length > 0 && (
          <button type="button" onClick={() => view.intents.repeatPhrase()}>
            Repeat the last one
          </button>
        )}
        <button type="button" onClick={() => view.intents.skipPhrase()}>
          Skip this one
        </button>
      </Buttons>
    </>
  );
}

function Result({ view, fitting }: { view: View; fitting: Fitting }) {
  const fit = fitOf(fitting.studies);
  const heard = fitting.studies.filter((study) => study !== null).length;
  return (
    <>
      <section class="told" role="status">
        {fit ? (
          <>
            <p>
              {view.mechanic.value}: {acceptsWords(fit)}.
            </p>
            {fit.accepts > 1 && (
              <p>
                The ear finds this voice hard. “Ask every time”, under Voice and ear, is the safe way to work.
              </p>
            )}
            <Says fit={fit} />
            <p class="caveat">
              Figures are read back and asked about as before. Nothing else was learned; the sound is
              forgotten.
            </p>
          </>
        ) : (
          <p>
            Only {heard} of {fitting.phrases.length} phrases could be used, and at least {ENOUGH} are needed.
            Nothing was changed. Move the microphone nearer or find a quieter moment, then try again.
          </p>
        )}
      </section>
      <Buttons leave={fit ? 'Do not keep it' : 'Back'} view={view}>
        {fit && (
          <button type="button" class="main" onClick={() => view.intents.keepFit()}>
            Keep this fit
          </button>
        )}
        <button type="button" onClick={() => view.intents.fitEar()}>
          Begin again
        </button>
      </Buttons>
    </>
  );
}

interface ButtonsProps {
  readonly leave: string;
  readonly view: View;
  readonly children: ComponentChildren;
}

function Buttons({ leave, view, children }: ButtonsProps) {
  return (
    <div class="fittingButtons">
      {children}
      <button type="button" onClick={() => view.intents.leaveFitting()}>
        {leave} <kbd>Esc</kbd>
      </button>
    </div>
  );
}
