// An ear's network as Vosk's am/final.mdl: the same weights in the binary format of Kaldi, whose engine Vosk is.
// Our outputs are CTC's units; Kaldi gets them as phones of one state each, numbered from 1.
import { MEL_BINS } from '../src/hearing/features.ts';
import type { EarModel } from '../src/hearing/network.ts';
import { float32, int32 } from './vosk-bytes.ts';

type Layer = EarModel['first'];
/** Bits of one weight; a matrix is stored in equal steps from its smallest to its largest. */
export type WeightBits = 8 | 16;

/** @returns the content of am/final.mdl. */
export function networkFile(model: EarModel, bits: WeightBits): Buffer {
  return Buffer.concat([Buffer.from('\0B'), transitions(model.units.length), network(model, bits)]);
}

const token = (name: string) => Buffer.from(`${name} `);
/** A number with its size before it. */
const tagged = (number: Buffer) => Buffer.concat([Buffer.from([number.length]), number]);
const whole = (value: number) => tagged(int32(value));
const real = (value: number) => tagged(float32(value));
const list = (values: readonly number[]) => Buffer.concat([whole(values.length), int32(...values)]);
const vector = (values: ArrayLike<number>) =>
  Buffer.concat([token('FV'), whole(values.length), Buffer.from(Float32Array.from(values).buffer)]);

function matrix({ outputs, inputs, weight }: Layer, bits: WeightBits): Buffer {
  let [least, most] = [Infinity, -Infinity];
  for (const value of weight) {
    least = Math.min(least, value);
    most = Math.max(most, value);
  }
  const range = most - least || 1e-5;
  const steps = 2 ** bits - 1;
  const numbers = new (bits === 16 ? Uint16Array : Uint8Array)(weight.length);
  weight.forEach((value, i) => {
    numbers[i] = Math.round(((value - least) / range) * steps);
  });
  const head = [token(bits === 16 ? 'CM2' : 'CM3'), float32(least, range), int32(outputs, inputs)];
  return Buffer.concat([...head, Buffer.from(numbers.buffer)]);
}

/** Each phone is one state that may be stayed in; what it costs to stay or go is not used in decoding. */
function transitions(units: number): Buffer {
  const phones = Array.from({ length: units }, (_, u) => u + 1);
  const half = real(0.5);
  return Buffer.concat([
    token('<TransitionModel>'),
    token('<Topology>'),
    list(phones),
    list([-1, ...phones.map(() => 0)]),
    ...[1, 2].map(whole),
    ...[0, 2, 0].map(whole),
    half,
    whole(1),
    half,
    ...[-1, 0].map(whole),
    token('</Topology>'),
    token('<Triples>'),
    whole(units),
    ...phones.flatMap((phone) => [phone, 0, phone - 1].map(whole)),
    token('</Triples>'),
    token('<LogProbs>'),
    vector([0, ...phones.flatMap(() => [Math.log(0.5), Math.log(0.5)])]),
    token('</LogProbs>'),
    token('</TransitionModel>'),
  ]);
}

/** The layers as Kaldi's nodes and components; its offsets count frames, ours outputs. */
function network(model: EarModel, bits: WeightBits): Buffer {
  const { context, stride, first, blocks, last, units } = model;
  const nodes: string[] = [`input-node name=input dim=${MEL_BINS}`];
  const components: Buffer[] = [];
  const add = (name: string, input: string, kind: string, ...content: Buffer[]) => {
    nodes.push(`component-node name=${name} component=${name} input=${input}`);
    components.push(
      token('<ComponentName>'),
      token(name),
      token(`<${kind}>`),
      ...content,
      token(`</${kind}>`),
    );
    return name;
  };
  const affine = (name: string, input: string, layer: Layer, stored = bits) =>
    add(
      name,
      input,
      'FixedAffineComponent',
      token('<LinearParams>'),
      matrix(layer, stored),
      token('<BiasParams>'),
      vector(layer.bias),
    );
  const dim = (size: number) => [token('<Dim>'), whole(size)];
  const noStatistics = [
    ...['<ValueAvg>', '<DerivAvg>'].flatMap((name) => [token(name), vector([])]),
    token('<Count>'),
    real(0),
  ];
  const at = (node: string, frames: readonly number[]) =>
    `Append(${frames.map((k) => (k === 0 ? node : `Offset(${node}, ${k})`)).join(', ')})`;
  const relu = (name: string, input: string) =>
    add(name, input, 'RectifiedLinearComponent', ...dim(first.outputs), ...noStatistics);

  const window = Array.from({ length: 2 * context + 1 }, (_, k) => k - context);
  // The features are not brought to one scale before this layer: 8 bits for it would change what is heard.
  let x = relu('r0', affine('a0', at('input', window), first, 16));
  blocks.forEach(({ squeeze, expand, offsets }, i) => {
    const squeezed = affine(`l${i}`, x, squeeze);
    const frames = offsets.map((k) => k * stride);
    const fresh = relu(`r${i + 1}`, affine(`a${i + 1}`, at(squeezed, frames), expand));
    const scale = [token('<BackpropScale>'), real(1)];
    x = add(`s${i + 1}`, `Sum(${x}, ${fresh})`, 'NoOpComponent', ...dim(first.outputs), ...scale);
  });
  const out = add('ls', affine('o', x, last), 'LogSoftmaxComponent', ...dim(units.length), ...noStatistics);
  nodes.push(`output-node name=output input=${out} objective=linear`);
  return Buffer.concat([
    token('<Nnet3>'),
    Buffer.from(`\n${nodes.join('\n')}\n\n`),
    token('<NumComponents>'),
    whole(nodes.length - 2),
    ...components,
    token('</Nnet3>'),
    token('<LeftContext>'),
    whole(model.past * stride + context),
    token('<RightContext>'),
    whole(model.future * stride + context),
    token('<Priors>'),
    vector([]),
  ]);
}
