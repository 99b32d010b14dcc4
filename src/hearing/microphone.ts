// The microphone: opened with everything off that the platform would do to the sound, and honest about why it fails.
// The samples go from the audio thread to the ear's worker; they never pass the main thread.

import workletUrl from './microphone.worklet.ts?worker&url';
import { SAMPLE_RATE } from './recogniser.ts';

export type MicrophoneFaultKind = 'refused' | 'missing' | 'unplugged' | 'busy' | 'unsupported';

const SENTENCES: Readonly<Record<MicrophoneFaultKind, string>> = {
  refused:
    'The microphone is not allowed: allow it in the browser’s settings for this page; touch and keys still work.',
  missing: 'No microphone was found: connect one and try again; touch and keys still work.',
  unplugged: 'The microphone was unplugged: connect it and try again; touch and keys still work.',
  busy: 'Another program is using the microphone: close it there and try again; touch and keys still work.',
  unsupported:
    'This browser cannot give the sound of a microphone: open the page over https in a current one; touch and keys still work.',
};

/** Why there is no microphone; the message is one sentence for the user saying what to do. */
export class MicrophoneFault extends Error {
  readonly kind: MicrophoneFaultKind;

  constructor(kind: MicrophoneFaultKind, cause?: unknown) {
    super(SENTENCES[kind], { cause });
    this.name = 'MicrophoneFault';
    this.kind = kind;
  }
}

export interface Microphone {
  /** Stops the sound and turns the browser's recording sign off. */
  close(): void;
}

export interface MicrophoneOptions {
  /** Gets Float32Array messages: mono, −1…1, at SAMPLE_RATE. */
  readonly sink: MessagePort;
  /** One of `navigator.mediaDevices.enumerateDevices()`; left out, the system's own choice. */
  readonly deviceId?: string | undefined;
  readonly signal?: AbortSignal | undefined;
  /** Called once if the microphone goes away later. */
  readonly onLost: (fault: MicrophoneFault) => void;
}

/** @throws MicrophoneFault; the signal's reason if it was aborted. */
export async function openMicrophone(options: MicrophoneOptions): Promise<Microphone> {
  const { sink, deviceId, signal, onLost } = options;
  signal?.throwIfAborted();
  const stream = await openStream(deviceId);
  const track = stream.getAudioTracks()[0]!;
  const closing = new AbortController();
  let context: AudioContext | undefined;
  const close = () => {
    closing.abort();
    track.stop();
    sink.close();
    void context?.close();
  };
  const lost = () => {
    close();
    onLost(new MicrophoneFault('unplugged'));
  };
  try {
    signal?.throwIfAborted();
    context = new AudioContext({ sampleRate: SAMPLE_RATE });
    await context.audioWorklet.addModule(workletUrl);
    const source = context.createMediaStreamSource(stream);
    const node = new AudioWorkletNode(context, 'microphone', { numberOfOutputs: 0, channelCount: 1 });
    node.port.postMessage(sink, [sink]);
    source.connect(node);
    // Browsers start sound only after the user has done something; this one may be the first.
    void context.resume();
    signal?.throwIfAborted();
  } catch (error) {
    close();
    throw signal?.aborted ? signal.reason : new MicrophoneFault('unsupported', error);
  }
  // Some systems end the track, others only say that their devices changed.
  track.addEventListener('ended', lost, { signal: closing.signal });
  navigator.mediaDevices.addEventListener(
    'devicechange',
    async () => {
      if (!(await isPresent(track)) && !closing.signal.aborted) lost();
    },
    { signal: closing.signal },
  );
  return { close };
}

async function openStream(deviceId: string | undefined): Promise<MediaStream> {
  if (typeof navigator.mediaDevices?.getUserMedia !== 'function' || typeof AudioWorkletNode !== 'function') {
    throw new MicrophoneFault('unsupported');
  }
  try {
    return await navigator.mediaDevices.getUserMedia({
      audio: {
        channelCount: 1,
        // Each of these bends the speech away from what the ear was trained on.
        echoCancellation: false,
        noiseSuppression: false,
        autoGainControl: false,
        ...(deviceId === undefined ? {} : { deviceId: { exact: deviceId } }),
      },
    });
  } catch (error) {
    throw new MicrophoneFault(faultKind(error), error);
  }
}

/** What getUserMedia's errors mean (Media Capture and Streams, section 10). */
export function faultKind(error: unknown): MicrophoneFaultKind {
  switch (error instanceof Error || error instanceof DOMException ? error.name : '') {
    case 'NotAllowedError':
    case 'SecurityError':
      return 'refused';
    case 'NotFoundError':
    case 'OverconstrainedError':
      return 'missing';
    case 'NotReadableError':
    case 'AbortError':
      return 'busy';
    default:
      return 'unsupported';
  }
}

async function isPresent(track: MediaStreamTrack): Promise<boolean> {
  if (track.readyState === 'ended') return false;
  const { deviceId } = track.getSettings();
  const devices = await navigator.mediaDevices.enumerateDevices();
  return deviceId === undefined || devices.some((device) => device.deviceId === deviceId);
}
