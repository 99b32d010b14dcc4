// The ears side by side: the strict ear with any weights, the packaged recogniser (soundswallower), and each of them with a
// denoiser (RNNoise) before it.
import { readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import createModule from 'soundswallower';
import type { Lexicon } from '../../../src/hearing/lexicon.ts';
import { Listener } from '../../../src/hearing/listener.ts';
import { readModel } from '../../../src/hearing/network.ts';
import { type Heard, SAMPLE_RATE } from '../../../src/hearing/recogniser.ts';
import { StrictEar } from '../../../src/hearing/strict.ts';
import { type WordGraph, wordsOf } from '../../../src/phrases/wordgraph.ts';
import { resample } from '../../sound.ts';
import type { List } from './lists.ts';
import { recalling } from './recall.ts';

export interface EarOnTrial {
  readonly name: string;
  /** Size of the weights' file. */
  readonly bytes?: number;
  /** One whole utterance against some lists.  @param noisy whether noise was laid over it  @returns a Heard for each list tried */
  hear(sound: Float32Array, lists: readonly List[], noisy: boolean): Promise<Heard[]>;
  /** Talk that goes on, against each list: what its end of speech cut out. Absent where an ear cannot listen. */
  listen?(sound: Float32Array, lists: readonly List[]): Promise<Heard[][]>;
}

/** Samples in one message of the microphone. */
const PIECE = 256;

/** The product's own ear with the weights of a file. */
export function strictEar(name: string, file: string | URL, lexicon: Lexicon): EarOnTrial {
  const bytes = readFileSync(file);
  const model = readModel(new Uint8Array(bytes).buffer);
  const ready = new Map<List, StrictEar>();
  const earFor = async (list: List): Promise<StrictEar> => {
    let ear = ready.get(list);
    if (!ear) {
      ear = new StrictEar(model, lexicon);
      await ear.expect(list.graph);
      ready.set(list, ear);
    }
    return ear;
  };
  return {
    name,
    bytes: bytes.length,
    async hear(sound, lists) {
      if (lists.length === 1) return [await (await earFor(lists[0]!)).hear(sound)];
      return recalling(async () => {
        const heard: Heard[] = [];
        for (const list of lists) heard.push(await (await earFor(list)).hear(sound));
        return heard;
      });
    },
    listen: (sound, lists) =>
      recalling(async () => {
        const heard: Heard[][] = [];
        for (const list of lists) {
          const listener = new Listener(await earFor(list));
          listener.open();
          const found: Heard[] = [];
          for (let at = 0; at < sound.length; at += PIECE)
            for (const utterance of listener.push(sound.subarray(at, at + PIECE)))
              found.push(utterance.heard);
          heard.push(found);
        }
        return heard;
      }),
  };
}

/** What of soundswallower's module its types leave out; `_fsg_model_*` are PocketSphinx's functions of these names. */
interface Inner {
  readonly _decoder_logmath: (decoder: number) => number;
  readonly _fsg_model_init: (name: number, logmath: number, weight: number, states: number) => number;
  readonly _fsg_set_states: (fsg: number, start: number, final: number) => void;
  readonly _fsg_model_word_add: (fsg: number, word: number) => number;
  readonly _fsg_model_trans_add: (fsg: number, from: number, to: number, logp: number, word: number) => void;
  readonly _fsg_model_null_trans_add: (fsg: number, from: number, to: number, logp: number) => number;
  readonly _decoder_set_fsg: (decoder: number, fsg: number) => number;
  readonly _malloc: (bytes: number) => number;
  readonly _free: (at: number) => void;
  readonly HEAPU8: Uint8Array;
}

/**
 * soundswallower with its own English model and exactly the same graph. It has no rejection: any text counts as taken,
 * so it is tried on the first list only where nothing of the lists was said.
 */
export async function packagedEar(lexicon: Lexicon): Promise<EarOnTrial> {
  const module = await createModule();
  const inner = module as unknown as Inner;
  const hmm = fileURLToPath(new URL('../../../node_modules/soundswallower/model/en-us', import.meta.url));
  const decoder = new module.Decoder({ samprate: SAMPLE_RATE, hmm, loglevel: 'FATAL' });
  await decoder.initialize();
  const handle = (decoder as unknown as { cdecoder: number }).cdecoder;
  const expect = (graph: WordGraph) => {
    for (const word of wordsOf(graph))
      if (!decoder.lookup_word(word))
        for (const [k, phones] of lexicon.get(word)!.entries())
          decoder.add_words([k === 0 ? word : `${word}(${k + 1})`, phones]);
    const text = (words: string, use: (at: number) => number): number => {
      const bytes = new TextEncoder().encode(`${words}\0`);
      const at = inner._malloc(bytes.length);
      inner.HEAPU8.set(bytes, at);
      const result = use(at);
      inner._free(at);
      return result;
    };
    const last = graph.states;
    const fsg = text('list', (name) =>
      inner._fsg_model_init(name, inner._decoder_logmath(handle), Number(decoder.get_config('lw')), last + 1),
    );
    inner._fsg_set_states(fsg, 0, last);
    const known = new Map(
      wordsOf(graph).map((word) => [word, text(word, (at) => inner._fsg_model_word_add(fsg, at))]),
    );
    for (const { from, to, word } of graph.arcs)
      inner._fsg_model_trans_add(fsg, from, to, 0, known.get(word)!);
    for (const final of graph.finals) inner._fsg_model_null_trans_add(fsg, final, last, 0);
    if (inner._decoder_set_fsg(handle, fsg) < 0) throw new Error('soundswallower does not take the list.');
  };
  let expected: List | null = null;
  return {
    name: 'soundswallower',
    async hear(sound, [list]) {
      if (list !== expected) expect(list!.graph);
      expected = list!;
      const start = performance.now();
      await decoder.reinitialize_audio();
      decoder.start();
      // In one call: pieces given just after `reinitialize_audio` go wrong in noise.
      decoder.process_audio(sound, false, true);
      decoder.stop();
      const text = decoder.get_text() || null;
      const ms = performance.now() - start;
      const rejected = text === null ? 'unknown' : null;
      return [{ text, rejected, confidence: 1, alternatives: [], words: [], from: 0, to: 0, ms }];
    },
  };
}

/**
 * An ear with a denoiser before it. The time that this takes is the ear's, too.
 * @param inNoise only where noise was laid over
 */
export const denoised = (ear: EarOnTrial, denoise: Denoiser, inNoise = false): EarOnTrial => ({
  ...ear,
  name: `${ear.name}, RNNoise${inNoise ? ' in noise' : ''}`,
  async hear(sound, lists, noisy) {
    const start = performance.now();
    const clear = inNoise && !noisy ? sound : denoise(sound);
    const spent = performance.now() - start;
    return (await ear.hear(clear, lists, noisy)).map((heard) => ({ ...heard, ms: heard.ms + spent }));
  },
  ...(ear.listen && { listen: (sound, lists) => ear.listen!(denoise(sound), lists) }),
});

type Denoiser = (sound: Float32Array) => Float32Array;
const DENOISED_RATE = 48_000;

/** RNNoise, which wants 48 kHz, frames of 480 samples and the numbers of 16-bit sound. */
export async function denoiser(): Promise<Denoiser> {
  // The package looks for a browser's worker before it loads.
  Object.assign(globalThis, { WorkerGlobalScope: class {} });
  const { Rnnoise } = await import('@shiguredo/rnnoise-wasm');
  const rnnoise = await Rnnoise.load();
  return (sound) => {
    const state = rnnoise.createDenoiseState();
    const high = resample(sound, SAMPLE_RATE, DENOISED_RATE);
    for (let at = 0; at + rnnoise.frameSize <= high.length; at += rnnoise.frameSize) {
      const frame = high.subarray(at, at + rnnoise.frameSize).map((x) => 32_768 * x);
      state.processFrame(frame);
      high.set(
        frame.map((x) => x / 32_768),
        at,
      );
    }
    state.destroy();
    return resample(high, DENOISED_RATE, SAMPLE_RATE);
  };
}
