// Why there is no microphone, and what happens when it goes away.
import { afterEach, describe, expect, it, vi } from 'vitest';
import { faultKind, MicrophoneFault, openMicrophone } from './microphone.ts';

/** A browser with one microphone, as far as the code asks. */
function browser({ refuse = null as Error | null } = {}) {
  const track = Object.assign(new EventTarget(), {
    readyState: 'live',
    stop: vi.fn(),
    getSettings: () => ({ deviceId: 'bench' }),
  });
  const devices = Object.assign(new EventTarget(), {
    present: [{ deviceId: 'bench' }],
    getUserMedia: vi.fn(async () => {
      if (refuse) throw refuse;
      return { getAudioTracks: () => [track] };
    }),
    enumerateDevices: async () => devices.present,
  });
  const context = {
    audioWorklet: { addModule: vi.fn(async () => {}) },
    createMediaStreamSource: () => ({ connect: vi.fn() }),
    resume: vi.fn(async () => {}),
    close: vi.fn(async () => {}),
  };
  vi.stubGlobal('navigator', { mediaDevices: devices });
  const started = vi.fn();
  class Context {
    constructor(options: unknown) {
      started(options);
      Object.assign(this, context);
    }
  }
  vi.stubGlobal('AudioContext', Context);
  vi.stubGlobal(
    'AudioWorkletNode',
    class {
      readonly port = { postMessage: vi.fn() };
    },
  );
  return { track, devices, context, started };
}

const error = (name: string) => Object.assign(new Error(name), { name });
const open = (options: { signal?: AbortSignal; onLost?: (fault: MicrophoneFault) => void } = {}) =>
  openMicrophone({ sink: new MessageChannel().port1, onLost: vi.fn(), ...options });

afterEach(() => vi.unstubAllGlobals());

describe('a microphone that cannot be had', () => {
  it.each([
    ['NotAllowedError', 'refused'],
    ['SecurityError', 'refused'],
    ['NotFoundError', 'missing'],
    ['OverconstrainedError', 'missing'],
    ['NotReadableError', 'busy'],
    ['AbortError', 'busy'],
    ['TypeError', 'unsupported'],
  ])('for the reason of a %s is %s', async (name, kind) => {
    expect(faultKind(error(name))).toBe(kind);
    browser({ refuse: error(name) });
    await expect(open()).rejects.toMatchObject({ name: 'MicrophoneFault', kind });
  });

  it('says in one sentence what to do and that touch and keys still work', () => {
    for (const kind of ['refused', 'missing', 'unplugged', 'busy', 'unsupported'] as const) {
      expect(new MicrophoneFault(kind).message).toMatch(/^[A-Z][^.]*: [^.]*; touch and keys still work\.$/);
    }
  });

  it('is unsupported where the browser has none of it', async () => {
    vi.stubGlobal('navigator', {});
    await expect(open()).rejects.toMatchObject({ kind: 'unsupported' });
  });
});

describe('an open microphone', () => {
  it('has everything off that would change the sound', async () => {
    const { devices, started } = browser();
    await open();
    expect(devices.getUserMedia).toHaveBeenCalledWith({
      audio: { channelCount: 1, echoCancellation: false, noiseSuppression: false, autoGainControl: false },
    });
    expect(started).toHaveBeenCalledWith({ sampleRate: 16_000 });
  });

  it('that ends by itself was unplugged, once', async () => {
    const { track, devices, context } = browser();
    const onLost = vi.fn();
    await open({ onLost });
    devices.present = [];
    track.dispatchEvent(new Event('ended'));
    devices.dispatchEvent(new Event('devicechange'));
    await vi.waitFor(() => expect(onLost).toHaveBeenCalledOnce());
    expect(onLost.mock.calls[0]![0]).toMatchObject({ kind: 'unplugged' });
    expect(context.close).toHaveBeenCalled();
  });

  it('that is no longer among the devices was unplugged, another device changes nothing', async () => {
    const { devices } = browser();
    const onLost = vi.fn();
    await open({ onLost });
    devices.present = [{ deviceId: 'bench' }, { deviceId: 'headset' }];
    devices.dispatchEvent(new Event('devicechange'));
    await Promise.resolve();
    expect(onLost).not.toHaveBeenCalled();
    devices.present = [{ deviceId: 'headset' }];
    devices.dispatchEvent(new Event('devicechange'));
    await vi.waitFor(() => expect(onLost).toHaveBeenCalledOnce());
  });

  it('is silent when it is closed', async () => {
    const { track, context } = browser();
    const onLost = vi.fn();
    (await open({ onLost })).close();
    expect(track.stop).toHaveBeenCalled();
    expect(context.close).toHaveBeenCalled();
    track.dispatchEvent(new Event('ended'));
    expect(onLost).not.toHaveBeenCalled();
  });

  it('is given up when the opening is cancelled', async () => {
    const { track, context } = browser();
    const controller = new AbortController();
    context.audioWorklet.addModule.mockImplementation(async () => controller.abort(new Error('cancelled')));
    await expect(open({ signal: controller.signal })).rejects.toThrow('cancelled');
    expect(track.stop).toHaveBeenCalled();
  });
});
