// What every voice can do, so that the mouth may change from one to another in mid-sentence.
// A voice that fails rejects with a plain reason; being cut short is no failure.

export interface Manner {
  /** Speed: 1 is the voice's own. */
  readonly rate: number;
  /** 0…1 */
  readonly volume: number;
}

export interface Saying extends Manner {
  /** Aborted: be silent at once, and resolve. */
  readonly signal: AbortSignal;
  /** Called with the time (milliseconds, as `performance.now()`) at which the first sample is heard. */
  readonly onFirstSound: (at: number) => void;
}

export interface Voice {
  readonly name: string;
  /** Makes it able to speak; may be called again. Rejects where this device has no such voice. */
  load(): Promise<void>;
  /** Resolves when the last sample has sounded, or when cut. */
  say(text: string, saying: Saying): Promise<void>;
  /** Sentences likely to be said next, likeliest first; earlier ones not yet computed are forgotten. */
  prepare(texts: readonly string[], manner: Manner): void;
  close(): void;
}

/** Waits for `work`, but no longer than until `signal` is aborted: then `undefined`. */
export async function untilAborted<T>(work: Promise<T>, signal: AbortSignal): Promise<T | undefined> {
  if (signal.aborted) {
    work.catch(() => {});
    return undefined;
  }
  const { promise: aborted, resolve } = withResolver();
  signal.addEventListener('abort', resolve, { once: true });
  try {
    return (await Promise.race([work, aborted])) as T | undefined;
  } finally {
    signal.removeEventListener('abort', resolve);
  }
}

/** Waits for `work`, but rejects with `reason` after `limit` milliseconds. */
export async function within<T>(work: Promise<T>, limit: number, reason: string): Promise<T> {
  let timer: ReturnType<typeof setTimeout> | undefined;
  const late = new Promise<never>((_, reject) => {
    timer = setTimeout(() => reject(new Error(reason)), limit);
  });
  try {
    return await Promise.race([work, late]);
  } finally {
    clearTimeout(timer);
  }
}

function withResolver(): { promise: Promise<undefined>; resolve: () => void } {
  let resolve = () => {};
  const promise = new Promise<undefined>((done) => {
    resolve = () => done(undefined);
  });
  return { promise, resolve };
}
