// Sentences computed ahead, so that speaking starts at once: a small store in front of a slow synthesiser.
// One sentence is computed at a time, and one that is wanted now goes before those that may be wanted.

type Samples = Float32Array<ArrayBuffer>;
interface Job<Wanted> {
  readonly key: string;
  readonly wanted: Wanted;
  readonly done: (samples: Samples) => void;
  readonly failed: (reason: unknown) => void;
}

export class PreparedSentences<Wanted> {
  readonly #compute: (wanted: Wanted) => Promise<Samples>;
  readonly #limit: number;
  /** Oldest use first. */
  readonly #kept = new Map<string, Samples>();
  readonly #underWay = new Map<string, Promise<Samples>>();
  #urgent: Job<Wanted>[] = [];
  #likely: Wanted[] = [];
  #busy = false;

  /** @param limit how many sentences are kept: one of three seconds takes 190 kB */
  constructor(compute: (wanted: Wanted) => Promise<Samples>, limit = 48) {
    this.#compute = compute;
    this.#limit = limit;
  }

  /** The samples of a sentence that is to be said now. */
  get(wanted: Wanted): Promise<Samples> {
    const key = JSON.stringify(wanted);
    const kept = this.#kept.get(key);
    if (kept !== undefined) {
      this.#keep(key, kept);
      return Promise.resolve(kept);
    }
    const underWay = this.#underWay.get(key);
    if (underWay !== undefined) return underWay;
    const promise = new Promise<Samples>((done, failed) => {
      this.#urgent.push({ key, wanted, done, failed });
    });
    this.#underWay.set(key, promise);
    void this.#work();
    return promise;
  }

  /** Replaces what was to be computed ahead; likeliest first. */
  prepare(wanted: readonly Wanted[]): void {
    this.#likely = wanted.slice(0, this.#limit);
    void this.#work();
  }

  async #work(): Promise<void> {
    if (this.#busy) return;
    this.#busy = true;
    for (let job = this.#next(); job !== undefined; job = this.#next()) {
      try {
        const samples = await this.#compute(job.wanted);
        this.#keep(job.key, samples);
        job.done(samples);
      } catch (reason) {
        job.failed(reason);
      }
      this.#underWay.delete(job.key);
    }
    this.#busy = false;
  }

  #next(): Job<Wanted> | undefined {
    const urgent = this.#urgent.shift();
    if (urgent !== undefined) return urgent;
    for (let wanted = this.#likely.shift(); wanted !== undefined; wanted = this.#likely.shift()) {
      const key = JSON.stringify(wanted);
      if (!this.#kept.has(key)) return this.#aheadOfTime(key, wanted);
    }
    return undefined;
  }

  /** A failure is dropped here; if the sentence is wanted in the end, it is told then. */
  #aheadOfTime(key: string, wanted: Wanted): Job<Wanted> {
    let job: Job<Wanted> | undefined;
    const promise = new Promise<Samples>((done, failed) => {
      job = { key, wanted, done, failed };
    });
    promise.catch(() => {});
    this.#underWay.set(key, promise);
    return job!;
  }

  #keep(key: string, samples: Samples): void {
    this.#kept.delete(key);
    this.#kept.set(key, samples);
    if (this.#kept.size > this.#limit) this.#kept.delete(this.#kept.keys().next().value!);
  }
}
