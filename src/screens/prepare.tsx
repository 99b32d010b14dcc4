// Before the work: which engine, who, with what instruments, and whether the ear and the voice are fit for it.
import type { Instrument } from '../procedure/book.ts';
import type { Sheet } from '../trade/sheet.ts';
import { writeClearance } from '../trade/units.ts';
import { AboutLink } from './about.tsx';
import { SpeakerFit } from './fitting.tsx';
import { Level } from './level.tsx';
import { instrumentsOf, PRACTICE, peopleOf } from './people.ts';
import { SmallPlan } from './plan.tsx';
import { Practice } from './practice.tsx';
import type { Preparing, View } from './view.ts';
import { timeWords } from './words.ts';

export function Prepare({ view }: { view: View }) {
  return (
    <>
      <header class="masthead">
        <Mark />
        <div>
          <h1>Lashwright</h1>
          <p>Valve clearances, checked and set by voice. Nothing leaves this device.</p>
        </div>
        <p class="caveat">
          Not a replacement for the maker's manual. The manual, the local rules and licensed persons come
          first.
        </p>
      </header>
      <main class="preparing">
        <Newer view={view} />
        <GoOn view={view} />
        <Engines view={view} />
        <People view={view} />
        <Instruments view={view} />
        <VoiceAndEar view={view} />
        <Microphone view={view} />
        <Signed view={view} />
        <AboutLink />
        <Begin view={view} />
      </main>
    </>
  );
}

/** A feeler gauge fanned out. */
function Mark() {
  return (
    <svg class="mark" viewBox="0 0 64 64" aria-hidden="true">
      <path d="M14 52 L20 8 a4 4 0 0 1 8 1 L22 53 Z" />
      <path d="M16 52 L38 12 a4 4 0 0 1 7 4 L23 56 Z" />
      <path d="M18 53 L51 26 a4 4 0 0 1 5 6.500 L23 59 Z" />
      <circle cx="18" cy="52" r="8" />
      <circle class="eye" cx="18" cy="52" r="3" />
    </svg>
  );
}

/** Only here, before the work, and only when asked: taking it loads the page anew. */
function Newer({ view }: { view: View }) {
  if (!view.newer.value) return null;
  return (
    <section class="card goOn" aria-labelledby="newer-title">
      <div>
        <h2 id="newer-title">There is a newer Lashwright</h2>
        <p>It is on this device already. Taking it loads this page anew; what you filled in stays.</p>
      </div>
      <button type="button" onClick={() => view.intents.renew()}>
        Take it now
      </button>
    </section>
  );
}

function GoOn({ view }: { view: View }) {
  const unfinished = view.unfinished.value;
  if (!unfinished) return null;
  return (
    <section class="card goOn" aria-labelledby="goOn-title">
      <div>
        <h2 id="goOn-title">A session was broken off</h2>
        <p>
          {unfinished.title}, last entry {timeWords(unfinished.at, true)}. Its record is kept, also when you
          begin another.
        </p>
      </div>
      <button type="button" class="main" onClick={() => view.intents.resume()}>
        Go on with it
      </button>
    </section>
  );
}

/** Records stay on the device, so that one that was not saved as a file at once is not lost. */
function Signed({ view }: { view: View }) {
  const signed = view.signed.value;
  if (signed.length === 0) return null;
  return (
    <section class="card signed" aria-labelledby="signed-title">
      <h2 id="signed-title">Signed on this device</h2>
      <ul>
        {signed.map(({ id, title, at }) => (
          <li key={id}>
            <span>
              {title}, {timeWords(at, true)}
            </span>
            <button type="button" onClick={() => view.intents.download(id)}>
              Save record
            </button>
          </li>
        ))}
      </ul>
    </section>
  );
}

function Engines({ view }: { view: View }) {
  const faults = view.sheetFaults.value;
  return (
    <section class="card" aria-labelledby="engine-title">
      <h2 id="engine-title">Engine</h2>
      <fieldset class="sheets">
        <legend class="unseen">Data sheet</legend>
        {view.sheets.value.map((sheet, k) => (
          <label key={sheet.id} class="sheet">
            <input
              type="radio"
              name="sheet"
              id={k === 0 ? 'sheet' : undefined}
              checked={view.preparing.value.sheet === sheet.id}
              onChange={() => view.intents.prepare({ sheet: sheet.id })}
            />
            <SmallPlan sheet={sheet} />
            <strong>{sheet.title}</strong>
            {sheet.invented && <Practice />}
            <span class="facts">{inShort(sheet)}</span>
          </label>
        ))}
      </fieldset>
      <label class="file">
        <span>Open your own data sheet (a file that ends in .json)</span>
        <input
          type="file"
          accept=".json,application/json"
          onChange={(event) => {
            const file = event.currentTarget.files?.[0];
            if (file) view.intents.openSheet(file);
            event.currentTarget.value = '';
          }}
        />
      </label>
      <div role="status">
        {faults.length > 0 && (
          <div class="sheetFaults">
            <h3>This sheet cannot be used</h3>
            <ul>
              {faults.map((sentence) => (
                <li key={sentence}>{sentence}</li>
              ))}
            </ul>
          </div>
        )}
      </div>
    </section>
  );
}

function inShort({ layout, cylinders, valves, firingOrder, clearance }: Sheet): string {
  const { intake, exhaust } = clearance;
  return [
    `${cylinders.length} cylinders ${layout}, ${valves.length} valves`,
    `fires ${firingOrder.join('-')}`,
    `intake ${writeClearance(intake.wanted)}, exhaust ${writeClearance(exhaust.wanted)}`,
  ].join(' · ');
}

function People({ view }: { view: View }) {
  const { mechanic, inspector } = view.preparing.value;
  return (
    <section class="card" aria-labelledby="people-title">
      <h2 id="people-title">People</h2>
      <label class="field">
        <span>Mechanic, who does the work and signs</span>
        <input
          id="mechanic"
          autocomplete="name"
          value={mechanic}
          placeholder={chosen(view)?.invented ? PRACTICE.mechanic : ''}
          onInput={(event) => view.intents.prepare({ mechanic: event.currentTarget.value })}
        />
      </label>
      <label class="field">
        <span>
          Inspector, somebody else{' '}
          {chosen(view)?.inspection ? '(this sheet asks for one)' : '(if there is one)'}
        </span>
        <input
          id="inspector"
          value={inspector}
          placeholder={chosen(view)?.invented && chosen(view)?.inspection ? PRACTICE.inspector : ''}
          onInput={(event) => view.intents.prepare({ inspector: event.currentTarget.value })}
        />
      </label>
    </section>
  );
}

function Instruments({ view }: { view: View }) {
  const { instruments } = view.preparing.value;
  const change = (k: number, to: Partial<Instrument>) =>
    view.intents.prepare({
      instruments: instruments.map((each, n) => (n === k ? { ...each, ...to } : each)),
    });
  return (
    <section class="card" aria-labelledby="instruments-title">
      <h2 id="instruments-title">Instruments</h2>
      {instruments.map((instrument, k) => (
        <fieldset key={instrument.what} class="instrument">
          <legend>{instrument.what}</legend>
          <label class="field">
            <span>Number</span>
            <input
              id={`instrument-${k}`}
              value={instrument.id}
              placeholder={chosen(view)?.invented ? 'stand-in' : ''}
              onInput={(event) => change(k, { id: event.currentTarget.value })}
            />
          </label>
          <label class="field">
            <span>Calibration due</span>
            <input
              type="date"
              id={`due-${k}`}
              value={instrument.due}
              aria-describedby={isOverdue(instrument) ? `overdue-${k}` : undefined}
              onInput={(event) => change(k, { due: event.currentTarget.value })}
            />
          </label>
          {isOverdue(instrument) && (
            <p class="warning" id={`overdue-${k}`}>
              Calibration is overdue. You will be asked about it, and the record will say so.
            </p>
          )}
        </fieldset>
      ))}
    </section>
  );
}

const isOverdue = ({ due }: Instrument) => due !== '' && due < new Date().toISOString().slice(0, 10);

const VOICES: readonly (readonly [Preparing['voice'], string])[] = [
  ['platform', "The device's own voice"],
  ['built-in', 'The built-in voice'],
  ['silent', 'No voice: read the screen'],
];
const EARS: readonly (readonly [Preparing['engine'], string])[] = [
  ['strict', 'The strict ear: hears only the phrases of each step'],
  ['vosk', 'Vosk, with a model that you bring'],
];

function VoiceAndEar({ view }: { view: View }) {
  const { voice, engine, askAlways } = view.preparing.value;
  return (
    <section class="card" aria-labelledby="voice-title">
      <h2 id="voice-title">Voice and ear</h2>
      <fieldset class="options">
        <legend>Reads back with</legend>
        {VOICES.map(([id, label]) => (
          <label key={id}>
            <input
              type="radio"
              name="voice"
              checked={voice === id}
              onChange={() => view.intents.prepare({ voice: id })}
            />
            {label}
          </label>
        ))}
      </fieldset>
      <fieldset class="options">
        <legend>Listens with</legend>
        {EARS.map(([id, label]) => (
          <label key={id}>
            <input
              type="radio"
              name="engine"
              checked={engine === id}
              onChange={() => view.intents.prepare({ engine: id })}
            />
            {label}
          </label>
        ))}
      </fieldset>
      {engine === 'vosk' && (
        <>
          <p>{view.model.value ? `Model: ${view.model.value}.` : 'There is no model yet.'}</p>
          <ModelFiles view={view} label="Choose the folder of a model" isFolder />
          <ModelFiles view={view} label="Choose a packed model (.tar.gz)" />
        </>
      )}
      <label class="tick">
        <input
          type="checkbox"
          checked={askAlways}
          onChange={(event) => view.intents.prepare({ askAlways: event.currentTarget.checked })}
        />
        Ask every time: no figure is entered without a yes
      </label>
    </section>
  );
}

function ModelFiles({ view, label, isFolder }: { view: View; label: string; isFolder?: boolean }) {
  return (
    <label class="file">
      <span>{label}</span>
      <input
        type="file"
        {...(isFolder ? { webkitdirectory: true } : { accept: '.gz,.tgz' })}
        onChange={(event) => {
          const files = [...(event.currentTarget.files ?? [])];
          if (files.length > 0) view.intents.openModel(files);
          event.currentTarget.value = '';
        }}
      />
    </label>
  );
}

function Microphone({ view }: { view: View }) {
  const microphone = view.microphone.value;
  const { wanted, heard, ok } = view.testPhrase.value;
  return (
    <section class="card" aria-labelledby="microphone-title">
      <h2 id="microphone-title">Microphone check</h2>
      {microphone !== 'open' && (
        <div class="row">
          <button
            type="button"
            aria-disabled={microphone === 'opening'}
            onClick={() => microphone !== 'opening' && view.intents.startMicrophone()}
          >
            {microphone === 'opening' ? 'Opening…' : microphone === 'failed' ? 'Try again' : 'Turn it on'}
          </button>
          <p>
            {microphone === 'failed'
              ? 'The microphone could not be opened. Allow it in the browser, or work by touch, keys or pedal.'
              : 'Sound is heard on this device only and is not sent anywhere.'}
          </p>
        </div>
      )}
      {microphone === 'open' && (
        <>
          <Level view={view} />
          <p>
            Say <q class="phrase">{wanted}</q>
          </p>
          <p class={`verdict ${ok === null ? '' : ok ? 'good' : 'bad'}`} role="status">
            {ok === null ? 'Nothing heard yet.' : ok ? '✓ Heard rightly.' : '✗ Not that.'}
            {ok === false && heard && <> Heard “{heard}”.</>}
          </p>
        </>
      )}
      {view.preparing.value.engine === 'strict' && <SpeakerFit view={view} />}
      <ul class="loading">
        {view.loading.value.map(({ what, loaded, total, done }) => (
          <li key={what}>
            <span>
              {what}: {done ? '✓ ready' : total ? `${Math.round((100 * loaded) / total)} %` : 'loading…'}
            </span>
            {!done && (
              <progress aria-label={what} value={total ? loaded : undefined} max={total ?? undefined} />
            )}
          </li>
        ))}
      </ul>
    </section>
  );
}

const chosen = (view: View) => view.sheets.value.find((sheet) => sheet.id === view.preparing.value.sheet);

/** What must still be given, each with the field that it is given in. */
function missing(view: View): { what: string; field: string }[] {
  const sheet = chosen(view);
  const instruments = instrumentsOf(
    view.preparing.value.instruments,
    sheet ?? { invented: false },
    new Date().getFullYear(),
  );
  const { mechanic, inspector } = peopleOf(
    view.preparing.value,
    sheet ?? { invented: false, inspection: false },
  );
  const same = inspector !== '' && inspector?.toLowerCase() === mechanic.toLowerCase();
  return [
    !sheet && { what: 'an engine', field: 'sheet' },
    mechanic === '' && { what: "the mechanic's name", field: 'mechanic' },
    inspector === '' && { what: "the inspector's name", field: 'inspector' },
    same && { what: 'an inspector who is not the mechanic', field: 'inspector' },
    ...instruments.flatMap(({ what, id, due }, k) => [
      id.trim() === '' && { what: `the number of the ${what}`, field: `instrument-${k}` },
      due === '' && { what: `the due date of the ${what}`, field: `due-${k}` },
    ]),
  ].filter((each) => typeof each === 'object');
}

function Begin({ view }: { view: View }) {
  const gaps = missing(view);
  const isWaiting = view.loading.value.some(({ done }) => !done);
  return (
    <section class="begin" aria-label="Begin">
      <div id="gaps" role="status">
        {gaps.length > 0 ? (
          <p>
            Still missing:{' '}
            {gaps.map(({ what, field }, k) => (
              <>
                {k > 0 && ', '}
                <a key={field} href={`#${field}`}>
                  {what}
                </a>
              </>
            ))}
            .
          </p>
        ) : (
          <p>
            Ready. The cautions are read out first, one by one.
            {isWaiting && ' The ear or the voice is still loading; touch and keys work at once.'}
            {view.microphone.value !== 'open' &&
              ' The microphone is off: without it, work by touch, keys or pedal.'}
          </p>
        )}
      </div>
      <button
        type="button"
        class="main"
        aria-disabled={gaps.length > 0}
        aria-describedby="gaps"
        onClick={() => gaps.length === 0 && view.intents.begin()}
      >
        Begin
      </button>
    </section>
  );
}
