// Sentences in order, cut at once, and handed from a voice that fails to the next.
import { expect, onTestFinished, test, vi } from 'vitest';
import { type Fault, Mouth } from './mouth.ts';
import { TONES } from './tones.ts';
import { untilAborted, type Voice } from './voice.ts';

/** A voice that takes 20 ms a sentence, or fails in one way. */
function standInVoice(name: string, failsAt?: 'load' | 'say') {
  const said: string[] = [];
  const voice: Voice = {
    name,
    load: async () => {
      if (failsAt === 'load') throw new Error('not on this device');
    },
    say: async (text, { signal, onFirstSound }) => {
      said.push(text);
      onFirstSound(performance.now());
      if (failsAt === 'say') throw new Error('broke');
      await untilAborted(new Promise((resolve) => setTimeout(resolve, 20)), signal);
    },
    prepare: vi.fn(),
    close: vi.fn(),
  };
  return { voice, said };
}

function mouthWith(...voices: Voice[]) {
  const faults: Fault[] = [];
  const playTone = vi.fn(async () => {});
  const mouth = new Mouth({ voices, playTone, onFault: (fault) => faults.push(fault), onClose: () => {} });
  return { mouth, faults, playTone };
}

test('sentences are said one after the other', async () => {
  const { voice, said } = standInVoice('a');
  const { mouth } = mouthWith(voice);
  const order: string[] = [];
  const first = mouth.say('first').then(() => order.push(`first of ${said.length}`));
  const second = mouth.say('second').then(() => order.push(`second of ${said.length}`));
  await Promise.all([first, second]);
  expect(order).toEqual(['first of 1', 'second of 2']);
});

test('a cut ends what is said, drops what was to follow, and leaves the mouth able to speak', async () => {
  vi.useFakeTimers();
  onTestFinished(() => void vi.useRealTimers());
  const { voice, said } = standInVoice('a');
  const { mouth } = mouthWith(voice);
  const sayings = Promise.all([mouth.say('first'), mouth.say('second')]);
  await vi.advanceTimersByTimeAsync(5);
  mouth.cut();
  // No time goes by: only the cut ends this.
  await sayings;
  const third = mouth.say('third');
  await vi.advanceTimersByTimeAsync(20);
  await third;
  expect(said).toEqual(['first', 'third']);
});

test('a voice that is still loading can be cut', async () => {
  const { voice } = standInVoice('a');
  const { mouth } = mouthWith({ ...voice, load: () => new Promise(() => {}) });
  const saying = mouth.say('first');
  mouth.cut();
  await saying;
});

test('the whole sentence is said again by the next voice, which stays', async () => {
  const broken = standInVoice('broken', 'say');
  const sound = standInVoice('sound');
  const { mouth, faults } = mouthWith(broken.voice, sound.voice);
  await mouth.say('Intake two, set.');
  await mouth.say('Next.');
  expect(broken.said).toEqual(['Intake two, set.']);
  expect(sound.said).toEqual(['Intake two, set.', 'Next.']);
  expect(faults).toEqual([{ voice: 'broken', reason: 'broke', next: 'sound' }]);
});

test('after the last voice there is silence, said once', async () => {
  const { mouth, faults } = mouthWith(standInVoice('a', 'load').voice, standInVoice('b', 'say').voice);
  await mouth.load();
  expect(mouth.voice).toBe('b');
  await mouth.say('one');
  await mouth.say('two');
  expect(mouth.voice).toBeNull();
  expect(faults.map(({ voice, next }) => [voice, next])).toEqual([
    ['a', 'b'],
    ['b', null],
  ]);
});

test('speaking is told once for a run of sentences and a tone', async () => {
  const { mouth } = mouthWith(standInVoice('a').voice);
  const told: boolean[] = [];
  mouth.onSpeaking((speaking) => told.push(speaking));
  await Promise.all([mouth.say('one'), mouth.tone('taken'), mouth.say('two')]);
  expect(told).toEqual([true, false]);
});

test('the first sound is told with its sentence', async () => {
  const { mouth } = mouthWith(standInVoice('a').voice);
  const heard: string[] = [];
  const stop = mouth.onFirstSound((_, text) => heard.push(text));
  await mouth.say('one');
  stop();
  await mouth.say('two');
  expect(heard).toEqual(['one']);
});

test('a tone that cannot sound stops nothing', async () => {
  const { mouth, playTone } = mouthWith();
  playTone.mockRejectedValue(new Error('asleep'));
  await mouth.tone('refused');
});

test('a closed mouth is silent and reports no fault', async () => {
  const { voice, said } = standInVoice('a');
  const { mouth, faults } = mouthWith(voice);
  mouth.close();
  await mouth.say('one');
  expect([said, faults]).toEqual([[], []]);
  expect(voice.close).toHaveBeenCalledOnce();
});

test('every tone is short and no two have the same shape', () => {
  const shapes = Object.values(TONES).map((notes) => {
    expect(notes.reduce((sum, { length }) => sum + length, 0)).toBeLessThanOrEqual(180);
    const pitches = notes.flatMap(({ from, to }) => [from, to]);
    return pitches
      .slice(1)
      .map((pitch, i) => Math.sign(pitch - pitches[i]!))
      .filter((step) => step !== 0)
      .join();
  });
  expect(new Set(shapes).size).toBe(shapes.length);
});
