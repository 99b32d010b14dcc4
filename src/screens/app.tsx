// The one door of the screens: draws the View it is given, and lets any key or touch cut the mouth short.
import { render as draw } from 'preact';
import { useEffect } from 'preact/hooks';
import { About, useAbout } from './about.tsx';
import { Bench } from './bench.tsx';
import { Done } from './done.tsx';
import { FittingScreen } from './fitting.tsx';
import { Prepare } from './prepare.tsx';
import type { View } from './view.ts';
import './look.css';
import './bench.css';
import './fitting.css';

export function render(view: View, root: Element): void {
  draw(<App view={view} />, root);
}

function App({ view }: { view: View }) {
  useEffect(() => {
    const cut = () => view.intents.cut();
    document.addEventListener('keydown', cut, true);
    document.addEventListener('pointerdown', cut, true);
    return () => {
      document.removeEventListener('keydown', cut, true);
      document.removeEventListener('pointerdown', cut, true);
    };
  }, [view]);
  const screen = view.screen.value;
  const book = view.book.value;
  const fitting = view.fitting.value;
  const isAbout = useAbout();
  return (
    <div class={`app ${screen}`}>
      <Faults view={view} />
      {screen === 'prepare' &&
        (fitting ? (
          <FittingScreen view={view} fitting={fitting} />
        ) : isAbout ? (
          <About />
        ) : (
          <Prepare view={view} />
        ))}
      {screen === 'bench' && book && <Bench view={view} book={book} />}
      {screen === 'done' && book && <Done view={view} book={book} />}
    </div>
  );
}

function Faults({ view }: { view: View }) {
  return (
    <div class="faults" role="alert">
      {view.faults.value.map(({ id, sentence }) => (
        <p key={id} class="fault">
          <span aria-hidden="true" class="sign">
            !
          </span>
          <span>{sentence}</span>
          <button type="button" onClick={() => view.intents.dismiss(id)} aria-label={`Put away: ${sentence}`}>
            Put away
          </button>
        </p>
      ))}
    </div>
  );
}
