// What is recalled must be what the network would have said, or the benchmark would judge another ear.
import { expect, test } from 'vitest';
import { Listener } from '../../../src/hearing/listener.ts';
import { SAMPLE_RATE } from '../../../src/hearing/recogniser.ts';
import { StrictEar } from '../../../src/hearing/strict.ts';
import { graphOf } from '../../../src/phrases/wordgraph.ts';
import { hush, lexicon, model, phrases, sound } from '../../../tests/hearing-clips.ts';
import { recalling } from './recall.ts';

const LISTS = [phrases('trade'), ['seven', 'seven thou', 'ten thou']];
const talk = ['seven-thou', 'no-play'].flatMap((name) => [...hush(0.5), ...sound(`trade/${name}.wav`)]);
const recording = Float32Array.from([...talk, ...hush(1)]);

/** Everything heard against each list, without the time it took. */
async function heard() {
  const all: unknown[] = [];
  for (const list of LISTS) {
    const ear = new StrictEar(model, lexicon);
    await ear.expect(graphOf(list));
    all.push({ ...(await ear.hear(recording.slice(0, SAMPLE_RATE))), ms: 0 });
    const listener = new Listener(ear);
    listener.open();
    for (let at = 0; at < recording.length; at += 256)
      for (const { heard } of listener.push(recording.subarray(at, at + 256))) all.push({ ...heard, ms: 0 });
  }
  return all;
}

test('lists after the first are heard from memory, and to the bit the same', async () => {
  const expected = await heard();
  expect(await recalling(heard)).toEqual(expected);
  expect(expected.length).toBeGreaterThan(2 * LISTS.length);
});
