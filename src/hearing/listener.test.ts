// Where an utterance begins and ends in a stream of sound.
import { describe, expect, it } from 'vitest';
import { hush, lexicon, model, noise, sound } from '../../tests/hearing-clips.ts';
import { graphOf } from '../phrases/wordgraph.ts';
import { joined } from './joined.ts';
import { Listener, type Utterance } from './listener.ts';
import { StrictEar } from './strict.ts';

async function listenerFor(...list: string[]) {
  const ear = new StrictEar(model, lexicon);
  await ear.expect(graphOf(list));
  const listener = new Listener(ear);
  listener.open();
  return { ear, listener };
}

/** Pushes a recording in chunks of so many samples. */
function play(listener: Listener, samples: Float32Array, chunk = 512): Utterance[] {
  const ended: Utterance[] = [];
  for (let at = 0; at < samples.length; at += chunk)
    ended.push(...listener.push(samples.subarray(at, at + chunk)));
  return ended;
}

const results = (utterances: readonly Utterance[]) =>
  utterances.map(({ heard }) => heard.rejected ?? heard.text);

/** Milliseconds of sound from the last sample of speech in a recording (above −40 dBFS) to the decision. */
function delay(utterance: Utterance, recording: Float32Array): number {
  let last = recording.length - 1;
  while (Math.abs(recording[last]!) < 0.01) last--;
  const start = recording.findIndex((_, i) =>
    utterance.samples.every((x, k) => k >= 400 || x === recording[i + k]),
  );
  return ((start + utterance.samples.length - last) * 1000) / 16_000;
}

/** A recording without the quiet at its ends. */
function speechOf(recording: Float32Array): Float32Array {
  const isLoud = (x: number) => Math.abs(x) >= 0.01;
  return recording.slice(recording.findIndex(isLoud), recording.findLastIndex(isLoud) + 1);
}

const AFFIRM = sound('trade/affirm.wav');
const SEVEN_THOU = sound('trade/seven-thou.wav');

describe('the end of speech', () => {
  it.each(['affirm', 'seven thou', 'say again', 'zero seven', 'intake two seven thou drag okay'])(
    'comes soon after "%s", which nothing longer begins with',
    async (said) => {
      const { listener } = await listenerFor(
        'affirm',
        'seven thou',
        'say again',
        'zero seven',
        'negative',
        'intake two seven thou drag okay',
      );
      const recording = joined(hush(1), sound(`trade/${said.replaceAll(' ', '-')}.wav`), hush(1));
      const [utterance, ...more] = play(listener, recording);
      expect(utterance!.heard).toMatchObject({ text: said, rejected: null });
      expect(more).toEqual([]);
      expect(delay(utterance!, recording)).toBeLessThan(200);
    },
  );

  it('comes later where the sentence could go on', async () => {
    const { listener } = await listenerFor('affirm', 'affirm left');
    const recording = joined(hush(1), AFFIRM, hush(1));
    const [utterance] = play(listener, recording);
    expect(utterance!.heard).toMatchObject({ text: 'affirm', rejected: null });
    expect(delay(utterance!, recording)).toBeGreaterThan(450);
    expect(delay(utterance!, recording)).toBeLessThan(700);
  });

  it.each([0.3, 0.4])('waits %d s for the word that would change a figure', async (pause) => {
    const { listener } = await listenerFor('seven thou', 'seven thou drag okay');
    const drag = speechOf(sound('trade/drag-okay.wav'));
    const recording = joined(hush(1), speechOf(SEVEN_THOU), hush(pause), drag, hush(1));
    expect(results(play(listener, recording))).toEqual(['seven thou drag okay']);
  });

  it('leaves time for a pause within a phrase', async () => {
    const { listener } = await listenerFor('exhaust four seven thou', 'exhaust four', 'seven thou');
    const recording = joined(hush(1), sound('trade/exhaust-four.wav'), hush(0.15), SEVEN_THOU, hush(1));
    expect(results(play(listener, recording))).toEqual(['exhaust four seven thou']);
  });

  it('comes after words that are in no list as well', async () => {
    const { listener } = await listenerFor('affirm', 'negative');
    expect(results(play(listener, joined(hush(1), SEVEN_THOU, hush(1))))).toEqual(['unknown']);
  });

  it('comes at the latest after ten seconds', async () => {
    const { listener } = await listenerFor('affirm', 'negative');
    const talk = joined(hush(1), ...Array.from({ length: 10 }, () => sound('trade/other-1.wav')));
    const [first] = play(listener, talk);
    expect(first!.samples.length / 16_000).toBeCloseTo(10, 1);
  });

  it.each([37, 128, 441, 1024, 4096])('is the same when %i samples come at a time', async (chunk) => {
    const recording = joined(
      hush(0.7),
      AFFIRM,
      hush(1, 2),
      SEVEN_THOU,
      hush(0.8, 3),
      sound('trade/stop.wav'),
      hush(1, 4),
    );
    const { listener } = await listenerFor('affirm', 'seven thou', 'stop');
    const { listener: other } = await listenerFor('affirm', 'seven thou', 'stop');
    const plain = (utterances: Utterance[]) =>
      utterances.map((u) => ({ ...u, heard: { ...u.heard, ms: 0 } }));
    const expected = plain(play(other, recording, 160));
    expect(results(expected as Utterance[])).toEqual(['affirm', 'seven thou', 'stop']);
    expect(plain(play(listener, recording, chunk))).toEqual(expected);
  });
});

describe('an utterance', () => {
  it('begins a little before the speech and is heard again as it was', async () => {
    const { ear, listener } = await listenerFor('affirm', 'seven thou');
    const [utterance] = play(listener, joined(hush(1), AFFIRM, hush(1)));
    expect(utterance!.heard.from).toBeGreaterThan(0.25 * 16_000);
    expect(utterance!.heard.from).toBeLessThan(0.6 * 16_000);
    expect({ ...(await ear.hear(utterance!.samples)), ms: 0 }).toEqual({ ...utterance!.heard, ms: 0 });
  });

  it('is heard by the list that held when it began', async () => {
    const { ear, listener } = await listenerFor('affirm');
    play(listener, joined(hush(1), AFFIRM.subarray(0, AFFIRM.length / 2)));
    await ear.expect(graphOf(['negative']));
    expect(results(play(listener, joined(AFFIRM.subarray(AFFIRM.length / 2), hush(1))))).toEqual(['affirm']);
  });
});

describe('what is no speech', () => {
  it('goes unnoticed when it is a single impact', async () => {
    const { listener } = await listenerFor('affirm', 'stop');
    const next = noise(3);
    const impact = Float32Array.from({ length: 4000 }, (_, i) => next() * (0.8 * Math.exp(-i / 160) + 3e-4));
    expect(play(listener, joined(hush(1), impact, hush(1), impact, hush(1)))).toEqual([]);
  });

  it('is learnt as background when it stays, and speech is heard over it', async () => {
    const { listener } = await listenerFor('affirm', 'seven thou');
    const next = noise(4);
    const machine = (seconds: number) =>
      Float32Array.from({ length: seconds * 16_000 }, () => 0.004 * next());
    expect(results(play(listener, joined(hush(1), machine(4))))).toEqual(['noise']);
    const spoken = joined(machine(1), SEVEN_THOU, machine(1)).map(
      (x, i) => x + 0.004 * (i >= 16_000 ? next() : 0),
    );
    const [utterance, ...more] = play(listener, spoken);
    expect(utterance!.heard).toMatchObject({ text: 'seven thou', rejected: null });
    expect(more).toEqual([]);
  });
});

describe('half duplex', () => {
  it('keeps nothing of what comes while closed', async () => {
    const { listener } = await listenerFor('affirm', 'seven thou');
    listener.close();
    expect(play(listener, joined(hush(1), AFFIRM, hush(1)))).toEqual([]);
    listener.open();
    expect(results(play(listener, joined(hush(0.5), SEVEN_THOU, hush(1))))).toEqual(['seven thou']);
  });

  it('drops a phrase half heard', async () => {
    const { listener } = await listenerFor('affirm', 'seven thou');
    play(listener, joined(hush(1), AFFIRM.subarray(0, 6000)));
    expect(listener.level.speaking).toBe(true);
    listener.close();
    expect(listener.level).toEqual({ dBFS: -Infinity, speaking: false });
    listener.open();
    expect(play(listener, hush(2))).toEqual([]);
  });

  it('hears a phrase that begins as soon as the ear opens', async () => {
    const { listener } = await listenerFor('affirm', 'seven thou');
    play(listener, hush(1));
    listener.close();
    listener.open();
    expect(results(play(listener, joined(AFFIRM, hush(1))))).toEqual(['affirm']);
  });
});

describe('the level', () => {
  it('is in decibels below full scale', async () => {
    const { listener } = await listenerFor('affirm');
    play(
      listener,
      Float32Array.from({ length: 1600 }, (_, i) => 0.1 * Math.sin((2 * Math.PI * 200 * i) / 16_000)),
    );
    expect(listener.level.dBFS).toBeCloseTo(-23, 0);
  });
});
