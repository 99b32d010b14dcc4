// Runs beside the sound card: gathers what the microphone gives and hands it straight to the ear's worker.

/** Samples in one message: 16 ms, few enough to be heard at once, enough not to drown the worker in messages. */
const PIECE = 256;

// The audio thread's globals are not in TypeScript's libraries.
declare const registerProcessor: (name: string, processor: new () => object) => void;
declare const AudioWorkletProcessor: new () => { readonly port: MessagePort };

class Microphone extends AudioWorkletProcessor {
  #sink: MessagePort | null = null;
  #piece = new Float32Array(PIECE);
  #filled = 0;

  constructor() {
    super();
    // The one message from the main thread brings the port to the ear's worker.
    this.port.onmessage = ({ data }: MessageEvent<MessagePort>) => {
      this.#sink = data;
    };
  }

  /** @param inputs the first input's channels, 128 samples each.  @returns whether to be called again. */
  process([channels]: Float32Array[][]): boolean {
    const samples = channels?.[0];
    if (!samples || !this.#sink) return true;
    this.#piece.set(samples, this.#filled);
    this.#filled += samples.length;
    if (this.#filled < PIECE) return true;
    this.#sink.postMessage(this.#piece, [this.#piece.buffer]);
    this.#piece = new Float32Array(PIECE);
    this.#filled = 0;
    return true;
  }
}

registerProcessor('microphone', Microphone);
