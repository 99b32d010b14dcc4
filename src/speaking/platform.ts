// The voice of the device, where it has one that works without a network. Many have none, and some never say that they
// have finished: every wait has a limit, and passing it is a failure that hands the sentence to the next voice.
import { type Saying, untilAborted, type Voice, within } from './voice.ts';

/** How long to wait, in milliseconds. */
export const LIMITS = {
  voices: 1_500,
  start: 1_500,
  /** A slow voice needs 100 ms a letter. */
  end: (text: string, rate: number) => 3_000 + (150 * text.length) / rate,
} as const;

/** The parts of the browser used here: tests give their own, as a headless browser has no such voice. */
export interface Platform {
  readonly synthesis: Pick<
    SpeechSynthesis,
    'getVoices' | 'speak' | 'cancel' | 'addEventListener' | 'removeEventListener'
  >;
  readonly utterance: (text: string) => SpeechSynthesisUtterance;
}

/** Null where the browser has no speech at all. */
export function browserPlatform(): Platform | null {
  if (!('speechSynthesis' in globalThis)) return null;
  return { synthesis: globalThis.speechSynthesis, utterance: (text) => new SpeechSynthesisUtterance(text) };
}

export function platformVoice({ synthesis, utterance: newUtterance }: Platform): Voice {
  let chosen: Promise<SpeechSynthesisVoice> | null = null;
  const load = () => {
    chosen ??= chooseVoice(synthesis);
    return chosen;
  };

  return {
    name: 'platform',
    async load() {
      await load();
    },
    async say(text, saying: Saying) {
      const utterance = newUtterance(text);
      utterance.voice = await load();
      utterance.lang = utterance.voice.lang;
      utterance.rate = saying.rate;
      utterance.volume = saying.volume;
      try {
        await untilAborted(speak(synthesis, utterance, saying), saying.signal);
      } finally {
        synthesis.cancel();
      }
    },
    prepare: () => {},
    close: () => synthesis.cancel(),
  };
}

async function speak(
  synthesis: Platform['synthesis'],
  utterance: SpeechSynthesisUtterance,
  { rate, onFirstSound }: Saying,
): Promise<void> {
  const started = new Promise<void>((resolve) =>
    utterance.addEventListener('start', () => resolve(), { once: true }),
  );
  const ended = new Promise<void>((resolve, reject) => {
    utterance.addEventListener('end', () => resolve(), { once: true });
    utterance.addEventListener(
      'error',
      ({ error }) => reject(new Error(`The device's voice failed: ${error}.`)),
      {
        once: true,
      },
    );
  });
  synthesis.speak(utterance);
  await within(Promise.race([started, ended]), LIMITS.start, "The device's voice did not start.");
  onFirstSound(performance.now());
  await within(
    ended,
    LIMITS.end(utterance.text, rate),
    "The device's voice did not say that it had finished.",
  );
}

/** The list of voices may come late, or stay empty. */
async function chooseVoice(synthesis: Platform['synthesis']): Promise<SpeechSynthesisVoice> {
  let look = () => {};
  const found = new Promise<SpeechSynthesisVoice>((resolve) => {
    look = () => {
      const voice = localEnglish(synthesis.getVoices());
      if (voice !== undefined) resolve(voice);
    };
  });
  synthesis.addEventListener('voiceschanged', look);
  look();
  try {
    return await within(found, LIMITS.voices, 'This device has no English voice of its own.');
  } finally {
    synthesis.removeEventListener('voiceschanged', look);
  }
}

/** A voice that is not local would send every sentence over the network. */
function localEnglish(voices: readonly SpeechSynthesisVoice[]): SpeechSynthesisVoice | undefined {
  const usable = voices.filter(({ localService, lang }) => localService && /^en([-_]|$)/i.test(lang));
  return usable.find((voice) => voice.default) ?? usable[0];
}
