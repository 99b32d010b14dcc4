// The ear's neural network: log-mel frames in, log posteriors of phones out, computed as the sound arrives.
// A factored time-delay network (TDNN-F) trained with CTC; its shape is read from the model file, nothing is fixed here.
import * as z from 'zod/mini';
import { MEL_BINS } from './features.ts';
import { joined } from './joined.ts';

/** A layer y = W·x + b, W stored row by row (outputs × inputs). */
interface Affine {
  readonly inputs: number;
  readonly outputs: number;
  readonly weight: Float32Array;
  readonly bias: Float32Array;
}

/** A residual block: x + relu(expand · [squeeze · x at each offset]). Offsets are in outputs (stride frames). */
interface Block {
  readonly squeeze: Affine;
  readonly expand: Affine;
  readonly offsets: readonly number[];
  /** Outputs of past and of future that the block looks at. */
  readonly past: number;
  readonly future: number;
}

export interface EarModel {
  /** Names of the outputs; the first is CTC's blank, the others are ARPAbet phones. */
  readonly units: readonly string[];
  /** Frames on either side that the first layer sees. */
  readonly context: number;
  /** Frames from one output to the next. */
  readonly stride: number;
  readonly first: Affine;
  readonly blocks: readonly Block[];
  readonly last: Affine;
  /** Outputs of past and of future that reach one output through all blocks. */
  readonly past: number;
  readonly future: number;
}

const Header = z.record(
  z.string(),
  z.object({
    dtype: z.enum(['F16', 'F32']),
    shape: z.array(z.int().check(z.positive())),
    data_offsets: z.tuple([z.int().check(z.nonnegative()), z.int()]),
  }),
);
const Metadata = z.object({
  units: z.string(),
  offsets: z.string(),
  input_context: z.string().check(z.regex(/^\d+$/)),
  stride: z.string().check(z.regex(/^[1-9]\d*$/)),
  mel_bins: z.string().check(z.regex(/^\d+$/)),
});
const Offsets = z.array(z.array(z.int()).check(z.minLength(1)));

/**
 * Reads a model in the safetensors format.
 * @throws Error with one sentence for the user where the file is cut short, malformed, or of another kind.
 */
export function readModel(file: ArrayBuffer): EarModel {
  const tensors = readTensors(file);
  const { metadata } = tensors;
  if (Number(metadata.mel_bins) !== MEL_BINS) {
    throw bad(`it wants ${metadata.mel_bins} mel bins, this program makes ${MEL_BINS}`);
  }
  const units = metadata.units.split(' ');
  const context = Number(metadata.input_context);
  const first = tensors.affine('a0');
  const last = tensors.affine('o');
  const blocks = parseOffsets(metadata.offsets).map((offsets, i): Block => {
    const squeeze = tensors.affine(`l${i}`);
    const expand = tensors.affine(`a${i + 1}`);
    if (
      squeeze.inputs !== first.outputs ||
      expand.inputs !== squeeze.outputs * offsets.length ||
      expand.outputs !== first.outputs
    ) {
      throw bad(`the sizes of block ${i} do not fit together`);
    }
    return { squeeze, expand, offsets, past: -Math.min(0, ...offsets), future: Math.max(0, ...offsets) };
  });
  if (first.inputs !== MEL_BINS * (2 * context + 1)) throw bad('its first layer does not fit the features');
  if (last.inputs !== first.outputs || last.outputs !== units.length)
    throw bad('its last layer does not fit');
  return {
    units,
    context,
    stride: Number(metadata.stride),
    first,
    blocks,
    last,
    past: blocks.reduce((sum, block) => sum + block.past, 0),
    future: blocks.reduce((sum, block) => sum + block.future, 0),
  };
}

const bad = (why: string) => new Error(`The model file cannot be used: ${why}.`);

function parseOffsets(text: string): number[][] {
  try {
    return Offsets.parse(JSON.parse(text));
  } catch {
    throw bad('its list of offsets is damaged');
  }
}

/** The tensors of a safetensors file by name: u64 length of a JSON header, the header, the numbers. */
function readTensors(file: ArrayBuffer) {
  if (file.byteLength < 8) throw bad('it is empty or cut short');
  const length = Number(new DataView(file).getBigUint64(0, true));
  if (length > file.byteLength - 8) throw bad('it is no safetensors file, or cut short');
  let header: z.infer<typeof Header>;
  let metadata: z.infer<typeof Metadata>;
  try {
    const { __metadata__, ...rest } = JSON.parse(new TextDecoder().decode(new Uint8Array(file, 8, length)));
    header = Header.parse(rest);
    metadata = Metadata.parse(__metadata__);
  } catch {
    throw bad('its header is damaged or not that of an ear');
  }
  const numbers = new DataView(file, 8 + length);
  const tensor = (name: string): { shape: number[]; values: Float32Array } | undefined => {
    const entry = header[name];
    if (entry === undefined) return undefined;
    const {
      dtype,
      shape,
      data_offsets: [from, to],
    } = entry;
    const count = shape.reduce((a, b) => a * b, 1);
    const size = dtype === 'F16' ? 2 : 4;
    if (to - from !== count * size || to > numbers.byteLength) throw bad(`"${name}" is cut short`);
    const values = new Float32Array(count);
    for (let i = 0; i < count; i++) {
      const at = from + i * size;
      values[i] = size === 2 ? HALVES[numbers.getUint16(at, true)]! : numbers.getFloat32(at, true);
    }
    return { shape, values };
  };
  const affine = (name: string): Affine => {
    const weight = tensor(`${name}.weight`);
    if (weight?.shape.length !== 2) throw bad(`the layer "${name}" is missing`);
    const [outputs, inputs] = weight.shape as [number, number];
    const bias = tensor(`${name}.bias`)?.values ?? new Float32Array(outputs);
    if (bias.length !== outputs) throw bad(`the bias of "${name}" does not fit`);
    return { inputs, outputs, weight: weight.values, bias };
  };
  return { metadata, affine };
}

/** The value of every IEEE 754 half-precision number by its bits: a model has millions, but only these different ones. */
const HALVES = Float32Array.from({ length: 0x10000 }, (_, bits) => {
  const sign = bits & 0x8000 ? -1 : 1;
  const exponent = (bits >> 10) & 0x1f;
  const fraction = bits & 0x3ff;
  if (exponent === 0) return sign * fraction * 2 ** -24;
  if (exponent === 0x1f) return fraction ? Number.NaN : sign * Number.POSITIVE_INFINITY;
  return sign * (1 + fraction / 1024) * 2 ** (exponent - 15);
});

/** What a block still needs of what came before: its inputs and its squeezed inputs, `count` rows each. */
interface Held {
  readonly count: number;
  readonly x: Float32Array;
  readonly squeezed: Float32Array;
}

/** All that a stream remembers; never changed in place, so that keeping the object is keeping the moment. */
interface Memory {
  readonly frames: Float32Array;
  readonly held: readonly Held[];
  /** Frames given so far. */
  readonly given: number;
}

const NOTHING = new Float32Array(0);

/** One utterance on its way through the network. */
export class NetworkStream {
  readonly #model: EarModel;
  #memory: Memory;

  constructor(model: EarModel) {
    this.#model = model;
    const held = model.blocks.map(() => ({ count: 0, x: NOTHING, squeezed: NOTHING }));
    this.#memory = { frames: NOTHING, held, given: 0 };
  }

  /**
   * @param frames n × MEL_BINS log-mel features, the next of the utterance.
   * @returns the log posteriors that can be told by now, m × units; each output comes once, `future` outputs late.
   */
  push(frames: Float32Array): Float32Array {
    if (frames.length === 0) return NOTHING;
    const { context, stride, past } = this.#model;
    // The trainer's padding: the first frame repeated as far back as the network looks.
    const before =
      this.#memory.given === 0 ? repeat(frames.subarray(0, MEL_BINS), past * stride + context) : NOTHING;
    const given = this.#memory.given + frames.length / MEL_BINS;
    return this.#forward(joined(this.#memory.frames, before, frames), given);
  }

  /**
   * The outputs that would follow if the sound ended here: the last frame repeated as far ahead as the network looks.
   * The stream itself stays as it is and may go on.
   */
  tail(): Float32Array {
    const { context, stride, future } = this.#model;
    const kept = this.#memory;
    if (kept.given === 0) return NOTHING;
    const lastOutput = Math.ceil(kept.given / stride) - 1;
    const ahead = (lastOutput + future) * stride + context - (kept.given - 1);
    const out = this.#forward(
      joined(kept.frames, repeat(kept.frames.subarray(-MEL_BINS), ahead)),
      kept.given,
    );
    this.#memory = kept;
    return out;
  }

  #forward(frames: Float32Array, given: number): Float32Array {
    const { context, stride, first, blocks, last } = this.#model;
    const width = 2 * context + 1;
    const rows = frames.length / MEL_BINS;
    const count = rows < width ? 0 : 1 + Math.floor((rows - width) / stride);
    const windows = new Float32Array(count * first.inputs);
    for (let i = 0; i < count; i++) {
      windows.set(frames.subarray(i * stride * MEL_BINS, (i * stride + width) * MEL_BINS), i * first.inputs);
    }
    let x = relu(affine(first, windows, count));
    const held = blocks.map((block, i) => {
      const step = runBlock(block, this.#memory.held[i]!, x);
      x = step.out;
      return step.held;
    });
    this.#memory = { frames: frames.slice(count * stride * MEL_BINS), held, given };
    return logSoftmax(affine(last, x, x.length / last.inputs), last.outputs);
  }
}

/** One block over the new rows of x, together with what it still holds. */
function runBlock(block: Block, before: Held, fresh: Float32Array): { out: Float32Array; held: Held } {
  const { squeeze, expand, offsets, past, future } = block;
  const dim = squeeze.inputs;
  const narrow = squeeze.outputs;
  const x = joined(before.x, fresh);
  const squeezed = joined(before.squeezed, affine(squeeze, fresh, fresh.length / dim));
  const count = x.length / dim;
  const outputs = Math.max(0, count - past - future);
  const stacked = new Float32Array(outputs * expand.inputs);
  for (let i = 0; i < outputs; i++) {
    for (let k = 0; k < offsets.length; k++) {
      const row = (i + past + offsets[k]!) * narrow;
      stacked.set(squeezed.subarray(row, row + narrow), i * expand.inputs + k * narrow);
    }
  }
  const out = relu(affine(expand, stacked, outputs));
  for (let i = 0; i < out.length; i++) out[i]! += x[past * dim + i]!;
  const held = {
    count: count - outputs,
    x: x.slice(outputs * dim),
    squeezed: squeezed.slice(outputs * narrow),
  };
  return { out, held };
}

/**
 * y = W·x + b for `rows` rows of x. Four rows by four outputs at a time keep sixteen sums in registers; every sum runs in
 * the same order whatever the number of rows, so that a stream gives bit for bit what the whole utterance gives.
 */
function affine({ inputs, outputs, weight, bias }: Affine, x: Float32Array, rows: number): Float32Array {
  const y = new Float32Array(rows * outputs);
  const outputs4 = outputs - (outputs % 4);
  const rows4 = rows - (rows % 4);
  for (let o = 0; o < outputs4; o += 4) {
    const w0 = o * inputs;
    const w1 = w0 + inputs;
    const w2 = w1 + inputs;
    const w3 = w2 + inputs;
    const b0 = bias[o]!;
    const b1 = bias[o + 1]!;
    const b2 = bias[o + 2]!;
    const b3 = bias[o + 3]!;
    for (let r = 0; r < rows4; r += 4) {
      const x0 = r * inputs;
      const x1 = x0 + inputs;
      const x2 = x1 + inputs;
      const x3 = x2 + inputs;
      let s00 = b0;
      let s01 = b1;
      let s02 = b2;
      let s03 = b3;
      let s10 = b0;
      let s11 = b1;
      let s12 = b2;
      let s13 = b3;
      let s20 = b0;
      let s21 = b1;
      let s22 = b2;
      let s23 = b3;
      let s30 = b0;
      let s31 = b1;
      let s32 = b2;
      let s33 = b3;
      for (let i = 0; i < inputs; i++) {
        const u0 = weight[w0 + i]!;
        const u1 = weight[w1 + i]!;
        const u2 = weight[w2 + i]!;
        const u3 = weight[w3 + i]!;
        const v0 = x[x0 + i]!;
        const v1 = x[x1 + i]!;
        const v2 = x[x2 + i]!;
        const v3 = x[x3 + i]!;
        s00 += u0 * v0;
        s01 += u1 * v0;
        s02 += u2 * v0;
        s03 += u3 * v0;
        s10 += u0 * v1;
        s11 += u1 * v1;
        s12 += u2 * v1;
        s13 += u3 * v1;
        s20 += u0 * v2;
        s21 += u1 * v2;
        s22 += u2 * v2;
        s23 += u3 * v2;
        s30 += u0 * v3;
        s31 += u1 * v3;
        s32 += u2 * v3;
        s33 += u3 * v3;
      }
      let at = r * outputs + o;
      y[at] = s00;
      y[at + 1] = s01;
      y[at + 2] = s02;
      y[at + 3] = s03;
      at += outputs;
      y[at] = s10;
      y[at + 1] = s11;
      y[at + 2] = s12;
      y[at + 3] = s13;
      at += outputs;
      y[at] = s20;
      y[at + 1] = s21;
      y[at + 2] = s22;
      y[at + 3] = s23;
      at += outputs;
      y[at] = s30;
      y[at + 1] = s31;
      y[at + 2] = s32;
      y[at + 3] = s33;
    }
    for (let r = rows4; r < rows; r++) {
      const x0 = r * inputs;
      let s0 = b0;
      let s1 = b1;
      let s2 = b2;
      let s3 = b3;
      for (let i = 0; i < inputs; i++) {
        const v = x[x0 + i]!;
        s0 += weight[w0 + i]! * v;
        s1 += weight[w1 + i]! * v;
        s2 += weight[w2 + i]! * v;
        s3 += weight[w3 + i]! * v;
      }
      const at = r * outputs + o;
      y[at] = s0;
      y[at + 1] = s1;
      y[at + 2] = s2;
      y[at + 3] = s3;
    }
  }
  for (let o = outputs4; o < outputs; o++) {
    for (let r = 0; r < rows; r++) {
      let sum = bias[o]!;
      for (let i = 0; i < inputs; i++) sum += weight[o * inputs + i]! * x[r * inputs + i]!;
      y[r * outputs + o] = sum;
    }
  }
  return y;
}

function relu(x: Float32Array): Float32Array {
  for (let i = 0; i < x.length; i++) if (x[i]! < 0) x[i] = 0;
  return x;
}

/** Row by row, in place. */
function logSoftmax(x: Float32Array, width: number): Float32Array {
  for (let row = 0; row < x.length; row += width) {
    let top = Number.NEGATIVE_INFINITY;
    for (let i = 0; i < width; i++) top = Math.max(top, x[row + i]!);
    let sum = 0;
    for (let i = 0; i < width; i++) sum += Math.exp(x[row + i]! - top);
    const norm = top + Math.log(sum);
    for (let i = 0; i < width; i++) x[row + i]! -= norm;
  }
  return x;
}

/** A row, `times` times. */
function repeat(row: Float32Array, times: number): Float32Array {
  const out = new Float32Array(row.length * Math.max(0, times));
  for (let i = 0; i < times; i++) out.set(row, i * row.length);
  return out;
}
