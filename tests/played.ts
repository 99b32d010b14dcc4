// What a page plays from samples: how long each sound is, and where it was broken off.
import type { Page } from '@playwright/test';

export interface Played {
  /** Seconds of sound that there was to play. */
  readonly whole: number;
  /** Seconds of the sound's own clock after which it was told to stop; null where it was left to end. */
  readonly cutAfter: number | null;
}

/** Before the page is opened.  @returns what was played so far, in order */
export async function watchPlaying(page: Page): Promise<() => Promise<Played[]>> {
  await page.addInitScript(() => {
    const played: { whole: number; cutAfter: number | null }[] = [];
    const { prototype } = AudioBufferSourceNode;
    const { start, stop } = prototype;
    prototype.start = function (this: AudioBufferSourceNode, ...when: Parameters<typeof start>) {
      const one = { whole: this.buffer?.duration ?? 0, cutAfter: null as number | null };
      const begun = this.context.currentTime;
      played.push(one);
      this.stop = (at = this.context.currentTime) => {
        one.cutAfter = at - begun;
        stop.call(this, at);
      };
      start.apply(this, when);
    };
    Object.assign(window, { played });
  });
  return () => page.evaluate(() => (window as unknown as { played: Played[] }).played);
}
