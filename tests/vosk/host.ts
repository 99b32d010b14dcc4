// A page with nothing but the Vosk engine, to be driven from Node: by the tests beside it and by tools/vosk-host.ts. For the
// comparison with Node it also computes what the strict ear's search is given. What crosses the border is plain data; sound comes as the base64 of its 32-bit float samples.
import { logMel } from '../../src/hearing/features.ts';
import { joined } from '../../src/hearing/joined.ts';
import { NetworkStream, readModel } from '../../src/hearing/network.ts';
import type { Heard } from '../../src/hearing/recogniser.ts';
import { openVosk, type Vosk } from '../../src/hearing/vosk.ts';
import type { WordGraph } from '../../src/phrases/wordgraph.ts';

let vosk: Vosk | null = null;
let progress: { got: number; all: number | null } | null = null;

function opened(): Vosk {
  if (!vosk) throw new Error('No model is open.');
  return vosk;
}

function unpacked(samples: string): Float32Array<ArrayBuffer> {
  return new Float32Array(Uint8Array.from(atob(samples), (c) => c.charCodeAt(0)).buffer);
}

const host = {
  /** @param how `asFile`: as if the user had chosen a file; `stopAfter`: milliseconds until the user gives up. */
  async open(
    address: string,
    how: { timeoutMs?: number; asFile?: boolean; stopAfter?: number } = {},
  ): Promise<Vosk['graph']> {
    host.close();
    const stop = new AbortController();
    const model = how.asFile ? await (await fetch(address)).blob() : address;
    if (how.stopAfter !== undefined) setTimeout(() => stop.abort(new Error('Stopped.')), how.stopAfter);
    progress = null;
    vosk = await openVosk({
      model,
      signal: stop.signal,
      onProgress: (got, all) => {
        progress = { got, all };
      },
      ...(how.timeoutMs ? { timeoutMs: how.timeoutMs } : {}),
    });
    return vosk.graph;
  },
  progress: () => progress,
  missingWords: (graph: WordGraph): string[] => opened().missingWords(graph),
  expect: (graph: WordGraph): Promise<void> => opened().expect(graph),
  hear(samples: string): Promise<Heard> {
    return opened().hear(unpacked(samples));
  },
  /** Features and log posteriors of an utterance, by our own network. */
  async compute(address: string, samples: string): Promise<{ features: number[]; posteriors: number[] }> {
    const stream = new NetworkStream(readModel(await (await fetch(address)).arrayBuffer()));
    const features = logMel(unpacked(samples));
    return {
      features: [...features],
      posteriors: [...joined(stream.push(features), stream.tail())],
    };
  },
  close(): void {
    vosk?.close();
    vosk = null;
  },
};

declare global {
  interface Window {
    host: typeof host;
  }
}
window.host = host;
