// A page with nothing but the Vosk engine, to be driven from Node: by the tests beside it and by tools/vosk-host.ts.
// What crosses the border is plain data; sound comes as the base64 of its 32-bit float samples.
import type { Heard } from '../../src/hearing/recogniser.ts';
import { openVosk, type Vosk } from '../../src/hearing/vosk.ts';
import type { WordGraph } from '../../src/phrases/wordgraph.ts';

let vosk: Vosk | null = null;
let progress: { got: number; all: number | null } | null = null;

function opened(): Vosk {
  if (!vosk) throw new Error('No model is open.');
  return vosk;
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
    const bytes = Uint8Array.from(atob(samples), (c) => c.charCodeAt(0));
    return opened().hear(new Float32Array(bytes.buffer));
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
