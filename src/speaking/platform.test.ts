// The device's voice is not to be trusted: it may be absent, remote, late, or never finish.
// A stand-in plays it here, as no headless browser has the real thing.
import { afterEach, beforeEach, expect, test, vi } from 'vitest';
import { LIMITS, type Platform, platformVoice } from './platform.ts';

beforeEach(() => void vi.useFakeTimers());
afterEach(() => void vi.useRealTimers());

const ENGLISH = { name: 'Anna', lang: 'en-GB', localService: true, default: false } as SpeechSynthesisVoice;

class StandInUtterance extends EventTarget {
  voice: SpeechSynthesisVoice | null = null;
  lang = '';
  rate = 1;
  volume = 1;
  constructor(readonly text: string) {
    super();
  }
}

/** A device whose voice fires `start` and `end` after so many milliseconds, or never (null). */
class StandInDevice extends EventTarget {
  voices: SpeechSynthesisVoice[] = [ENGLISH];
  startAfter: number | null = 50;
  endAfter: number | null = 2_000;
  spoken: StandInUtterance[] = [];
  cancelled = 0;

  getVoices = () => this.voices;
  cancel = () => void this.cancelled++;
  speak = (utterance: SpeechSynthesisUtterance) => {
    this.spoken.push(utterance as unknown as StandInUtterance);
    if (this.startAfter !== null)
      setTimeout(() => utterance.dispatchEvent(new Event('start')), this.startAfter);
    if (this.endAfter !== null) setTimeout(() => utterance.dispatchEvent(new Event('end')), this.endAfter);
  };

  voice() {
    const utterance = (text: string) => new StandInUtterance(text) as unknown as SpeechSynthesisUtterance;
    return platformVoice({ synthesis: this as unknown as Platform['synthesis'], utterance });
  }
}

const saying = (signal = new AbortController().signal) => ({
  rate: 1,
  volume: 1,
  signal,
  onFirstSound: vi.fn(),
});

/** How a promise ended, without an unhandled rejection meanwhile. */
const outcome = (work: Promise<unknown>) =>
  work.then(
    () => 'done',
    (error: Error) => error.message,
  );

test('it speaks with the local English voice and resolves at the end', async () => {
  const device = new StandInDevice();
  const how = saying();
  const said = outcome(device.voice().say('Intake two, set.', how));
  await vi.advanceTimersByTimeAsync(1_999);
  expect(how.onFirstSound).toHaveBeenCalledOnce();
  expect(device.cancelled).toBe(0);
  await vi.advanceTimersByTimeAsync(1);
  expect(await said).toBe('done');
  expect(device.spoken[0]?.voice).toBe(ENGLISH);
});

test.each([
  ['none', []],
  ['only one on a server', [{ ...ENGLISH, localService: false }]],
  ['only a French one', [{ ...ENGLISH, lang: 'fr-FR' }]],
])('a device that has %s is given up in time', async (_, voices) => {
  const device = new StandInDevice();
  device.voices = voices;
  const loaded = outcome(device.voice().load());
  await vi.advanceTimersByTimeAsync(LIMITS.voices);
  expect(await loaded).toContain('no English voice');
});

test('a list of voices that comes late is waited for', async () => {
  const device = new StandInDevice();
  device.voices = [];
  const loaded = outcome(device.voice().load());
  await vi.advanceTimersByTimeAsync(1_000);
  device.voices = [ENGLISH];
  device.dispatchEvent(new Event('voiceschanged'));
  expect(await loaded).toBe('done');
});

test('a voice that does not start fails after a second and a half', async () => {
  const device = new StandInDevice();
  device.startAfter = device.endAfter = null;
  const said = outcome(device.voice().say('set', saying()));
  await vi.advanceTimersByTimeAsync(1_500);
  expect(await said).toContain('did not start');
  expect(device.cancelled).toBe(1);
});

test('a voice that never fires "end" fails after a limit that grows with the sentence', async () => {
  const device = new StandInDevice();
  device.endAfter = null;
  const said = outcome(device.voice().say('set', saying()));
  await vi.advanceTimersByTimeAsync(50 + LIMITS.end('set', 1));
  expect(await said).toContain('had finished');
  expect(LIMITS.end('a much longer sentence', 1)).toBeGreaterThan(LIMITS.end('set', 1));
});

test('an error of the device is a failure', async () => {
  const device = new StandInDevice();
  const said = outcome(device.voice().say('set', saying()));
  await vi.advanceTimersByTimeAsync(60);
  device.spoken[0]?.dispatchEvent(Object.assign(new Event('error'), { error: 'audio-busy' }));
  expect(await said).toContain('audio-busy');
});

test('being cut is silence at once and no failure', async () => {
  const device = new StandInDevice();
  const cutter = new AbortController();
  const said = outcome(device.voice().say('a long sentence', saying(cutter.signal)));
  await vi.advanceTimersByTimeAsync(100);
  cutter.abort();
  expect(await said).toBe('done');
  expect(device.cancelled).toBe(1);
  await vi.advanceTimersByTimeAsync(60_000);
});
