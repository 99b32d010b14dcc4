// The bridge to the ear's worker: what counts, what comes too late, and what is said when something fails.
import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest';
import { graphOf } from '../phrases/wordgraph.ts';
import { openEar } from './ear.ts';
import type { Report, Request } from './ear.worker.ts';
import type { Heard, Recogniser } from './recogniser.ts';

const opened = vi.hoisted(() => ({ onLost: (_: Error) => {}, close: vi.fn(), fail: null as Error | null }));
vi.mock('./microphone.ts', () => ({
  openMicrophone: vi.fn(async ({ onLost }: { onLost: (fault: Error) => void }) => {
    if (opened.fail) throw opened.fail;
    opened.onLost = onLost;
    return { close: opened.close };
  }),
}));

/** A worker that does as the test says. */
class FakeWorker extends EventTarget {
  static last: FakeWorker;
  static answer: (request: Request) => Report | null;
  readonly requests: Request[] = [];
  readonly terminate = vi.fn();

  constructor() {
    super();
    FakeWorker.last = this;
  }

  postMessage(request: Request): void {
    this.requests.push(request);
    const report = FakeWorker.answer(request);
    if (report) queueMicrotask(() => this.say(report));
  }

  say(data: Report): void {
    this.dispatchEvent(new MessageEvent('message', { data }));
  }

  /** The last turn that was announced. */
  get turn(): number {
    return Math.max(0, ...this.requests.map((request) => ('turn' in request ? request.turn : 0)));
  }
}

const heard = (text: string | null, rejected: Heard['rejected'] = null): Heard => ({
  text,
  rejected,
  confidence: 1,
  alternatives: [],
  words: [],
  from: 0,
  to: 1,
  ms: 1,
});
const say = (said: Heard, turn = FakeWorker.last.turn) =>
  FakeWorker.last.say({
    kind: 'heard',
    turn,
    utterance: { samples: new Float32Array(8), heard: said, waitedMs: 150 },
  });

beforeEach(() => {
  FakeWorker.answer = (request) => {
    if (request.kind === 'load') return { kind: 'loaded' };
    if (request.kind === 'expect') return { kind: 'expected', turn: request.turn, fault: null };
    return null;
  };
  opened.fail = null;
  opened.close.mockClear();
  vi.stubGlobal('Worker', FakeWorker);
  vi.stubGlobal('fetch', async (_: string, { signal }: { signal: AbortSignal | null }) => {
    signal?.throwIfAborted();
    return new Response(new Uint8Array(1000), { headers: { 'content-length': '1000' } });
  });
});
afterEach(() => vi.unstubAllGlobals());

async function listening() {
  const ear = await openEar();
  const told: (string | null)[] = [];
  ear.onHeard(({ text, rejected }) => told.push(text ?? rejected));
  await ear.expect(graphOf(['affirm']));
  ear.listen(true);
  return { ear, told };
}

describe('an ear', () => {
  it('tells how far its model has come', async () => {
    const onProgress = vi.fn();
    await openEar({ onProgress });
    expect(onProgress).toHaveBeenLastCalledWith(1000, 1000);
  });

  it('reports what was heard while it listens, and not afterwards', async () => {
    const { ear, told } = await listening();
    say(heard('affirm'));
    const late = FakeWorker.last.turn;
    ear.listen(false);
    say(heard('affirm'), late);
    expect(told).toEqual(['affirm']);
  });

  it('drops what was heard by a list that no longer holds', async () => {
    const { ear, told } = await listening();
    const late = FakeWorker.last.turn;
    await ear.expect(graphOf(['negative']));
    say(heard('affirm'), late);
    say(heard('negative'));
    expect(told).toEqual(['negative']);
  });

  it('says which words cannot be pronounced', async () => {
    const { ear } = await listening();
    FakeWorker.answer = (request) =>
      request.kind === 'expect'
        ? { kind: 'expected', turn: request.turn, fault: 'No pronunciation is known for "qwxz".' }
        : null;
    await expect(ear.expect(graphOf(['qwxz']))).rejects.toThrow('"qwxz"');
  });

  it('asks another engine about what was speech, and about nothing else', async () => {
    const { ear, told } = await listening();
    const engine: Recogniser = {
      expect: vi.fn(async () => {}),
      hear: vi.fn(async () => heard('negative')),
      close: vi.fn(),
    };
    await ear.use(engine);
    expect(engine.expect).toHaveBeenCalledWith(graphOf(['affirm']));
    say(heard('affirm'));
    say(heard(null, 'noise'));
    await vi.waitFor(() => expect(told).toHaveLength(2));
    expect(told).toEqual(expect.arrayContaining(['negative', 'noise']));
    expect(engine.hear).toHaveBeenCalledOnce();
  });

  it('tells that its microphone was lost and can open it again', async () => {
    const { ear } = await listening();
    const onLost = vi.fn();
    ear.onLost(onLost);
    opened.onLost(new Error('unplugged'));
    expect(onLost).toHaveBeenCalledOnce();
    await ear.setDevice('headset');
    expect(FakeWorker.last.requests.filter(({ kind }) => kind === 'sound')).toHaveLength(2);
  });

  it('tells nothing that was still on its way when the microphone was lost', async () => {
    const { ear, told } = await listening();
    const onLevel = vi.fn();
    ear.onLevel(onLevel);
    const late = FakeWorker.last.turn;
    opened.onLost(new Error('unplugged'));
    FakeWorker.last.say({ kind: 'level', level: { dBFS: -20, speaking: true } });
    say(heard('affirm'), late);
    expect(onLevel).not.toHaveBeenCalled();
    expect(told).toEqual([]);
  });

  it('answers to each fit by itself, in whatever order the answers come', async () => {
    const { ear } = await listening();
    const answers = [ear.fit(null), ear.fit({ accepts: 1.1, says: {} })];
    for (const id of [1, 0]) FakeWorker.last.say({ kind: 'answer', id, answer: { loss: 1.6 + id, lead: 4 } });
    expect((await Promise.all(answers)).map(({ loss }) => loss)).toEqual([1.6, 2.6]);
  });

  it('leaves nothing behind when it is closed', async () => {
    const { ear } = await listening();
    FakeWorker.answer = () => null;
    const waiting = ear.expect(graphOf(['negative']));
    ear.close();
    await expect(waiting).rejects.toThrow('closed');
    expect(FakeWorker.last.terminate).toHaveBeenCalled();
    expect(opened.close).toHaveBeenCalled();
  });
});

describe('an ear that cannot be opened', () => {
  it.each([
    [
      'the model is not there',
      () => vi.stubGlobal('fetch', async () => new Response('', { status: 404 })),
      '(404)',
    ],
    [
      'the model is damaged',
      () => {
        FakeWorker.answer = () => ({
          kind: 'failed',
          reason: 'The model file cannot be used: it is cut short.',
        });
      },
      'cut short',
    ],
    [
      'there is no microphone',
      () => {
        opened.fail = new Error('No microphone was found');
      },
      'No microphone',
    ],
  ])('because %s says so', async (_, prepare, message) => {
    prepare();
    await expect(openEar()).rejects.toThrow(message);
  });

  it('because it was cancelled rejects with the reason and stops the worker', async () => {
    await expect(openEar({ signal: AbortSignal.abort(new Error('cancelled')) })).rejects.toThrow('cancelled');
    const controller = new AbortController();
    FakeWorker.answer = () => {
      controller.abort(new Error('cancelled later'));
      return null;
    };
    await expect(openEar({ signal: controller.signal })).rejects.toThrow('cancelled later');
    expect(FakeWorker.last.terminate).toHaveBeenCalled();
  });
});
