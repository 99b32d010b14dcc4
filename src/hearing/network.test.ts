// Features and network against what the trainer's own program gave for one sentence.
import { describe, expect, it } from 'vitest';
import { model, modelFile, sound, starterModel, table } from '../../tests/hearing-clips.ts';
import { frameCount, frameLogMel, HOP, logMel, MEL_BINS } from './features.ts';
import { NetworkStream, readModel } from './network.ts';

const speech = sound('golden.wav');
const features = logMel(speech);

function furthest(a: ArrayLike<number>, b: ArrayLike<number>): number {
  expect(a.length).toBe(b.length);
  return Array.from(a, (x, i) => Math.abs(x - b[i]!)).reduce((most, x) => Math.max(most, x), 0);
}

/** The posteriors when the frames come in pieces of so many. */
function streamed(frames: Float32Array, piece: number, of = model): number[] {
  const stream = new NetworkStream(of);
  const out: number[] = [];
  for (let at = 0; at < frames.length; at += piece * MEL_BINS) {
    out.push(...stream.push(frames.subarray(at, at + piece * MEL_BINS)));
  }
  return [...out, ...stream.tail()];
}

describe('log-mel features', () => {
  it('are those that the network was trained on', () => {
    expect(furthest(features, table('golden.features.tsv'))).toBeLessThan(0.01);
  });

  it('come from whole frames only', () => {
    expect([0, 399, 400, 559, 560].map(frameCount)).toEqual([0, 0, 1, 1, 2]);
    expect(logMel(new Float32Array(399))).toHaveLength(0);
  });

  it('of one frame do not depend on the others', () => {
    const one = new Float32Array(MEL_BINS);
    frameLogMel(speech, 100 * HOP, one, 0);
    expect(one).toEqual(features.slice(100 * MEL_BINS, 101 * MEL_BINS));
  });

  it('of digital silence are finite', () => {
    expect(logMel(new Float32Array(1600)).every(Number.isFinite)).toBe(true);
  });
});

describe('the network', () => {
  const whole = streamed(features, features.length);

  it("gives the trainer's posteriors", () => {
    expect(furthest(whole, table('golden.posteriors.tsv'))).toBeLessThan(0.01);
  });

  it('reads its shape from the file: an ear of other sizes and offsets gives its own trainer’s posteriors', () => {
    const starter = streamed(features, features.length, starterModel());
    expect(furthest(starter, table('starter.posteriors.tsv'))).toBeLessThan(0.01);
  });

  it.each([1, 2, 3, 7, 40])('gives the same when %i frames come at a time', (piece) => {
    expect(streamed(features, piece)).toEqual(whole);
  });

  it('can tell how it would end without losing its place', () => {
    const stream = new NetworkStream(model);
    const half = 90 * MEL_BINS;
    const before = stream.push(features.subarray(0, half));
    expect(stream.tail()).toEqual(stream.tail());
    const after = stream.push(features.subarray(half));
    expect([...before, ...after, ...stream.tail()]).toEqual(whole);
  });

  it('has one output for every third frame, however few there are', () => {
    for (const frames of [1, 2, 3, 4, 10]) {
      expect(streamed(features.subarray(0, frames * MEL_BINS), 1)).toHaveLength(40 * Math.ceil(frames / 3));
    }
    expect(new NetworkStream(model).tail()).toHaveLength(0);
  });
});

describe('a model file', () => {
  const header = () => {
    const file = modelFile();
    const length = Number(new DataView(file).getBigUint64(0, true));
    return { file, length, json: JSON.parse(new TextDecoder().decode(new Uint8Array(file, 8, length))) };
  };
  /** The model with its header changed. */
  const changed = (change: (json: ReturnType<typeof header>['json']) => void) => {
    const { file, length, json } = header();
    change(json);
    const text = new TextEncoder().encode(JSON.stringify(json));
    const out = new Uint8Array(8 + text.length + file.byteLength - 8 - length);
    new DataView(out.buffer).setBigUint64(0, BigInt(text.length), true);
    out.set(text, 8);
    out.set(new Uint8Array(file, 8 + length), 8 + text.length);
    return out.buffer;
  };

  it('says its own shape', () => {
    expect(starterModel()).toMatchObject({ stride: 3, context: 4, past: 20, future: 7 });
    expect(model).toMatchObject({ stride: 3, context: 4, past: 27, future: 4 });
    expect(model.units).toHaveLength(40);
    const nearer = readModel(
      changed((json) => {
        json.__metadata__.offsets = json.__metadata__.offsets.replaceAll('1]', '0]');
      }),
    );
    expect(nearer).toMatchObject({ past: 27, future: 0 });
  });

  it.each([
    ['that is empty', () => new ArrayBuffer(0), 'cut short'],
    [
      'that is something else',
      () => new TextEncoder().encode('<!doctype html><title>404</title>').buffer,
      'no safetensors',
    ],
    ['cut short', () => modelFile().slice(0, 1_000_000), 'cut short'],
    ['without its description', () => changed((json) => delete json.__metadata__), 'header is damaged'],
    ['with damaged offsets', () => changed((json) => (json.__metadata__.offsets = '[[')), 'offsets'],
    ['for other features', () => changed((json) => (json.__metadata__.mel_bins = '80')), '80 mel bins'],
    ['without a layer', () => changed((json) => delete json['l3.weight']), '"l3" is missing'],
    ['with a unit too few', () => changed((json) => (json.__metadata__.units = 'blank AA')), 'last layer'],
  ])('%s is refused with a sentence', (_, file, why) => {
    expect(() => readModel(file() as ArrayBuffer)).toThrow(/^The model file cannot be used: .*\.$/);
    expect(() => readModel(file() as ArrayBuffer)).toThrow(why);
  });
});
