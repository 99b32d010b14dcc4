// How long the app takes, told by the page itself. The journeys print it; `npm run bench:load` makes the tables of docs/figures.md.
import { expect, type Page } from '@playwright/test';
import { Mechanic } from '../../tools/mechanic.ts';
import { type Hands, SIXTEEN_VALVES } from './page.ts';
import type { Robot } from './robot.ts';

/** The value below which so large a part of them lies. */
export const quantile = (values: readonly number[], part: number) =>
  values.toSorted((a, b) => a - b)[Math.ceil(part * values.length) - 1]!;

export interface Ready {
  readonly shown: number;
  readonly ear: number;
  readonly voice: number;
}

/** Opens the page, turns ear and voice on and begins a session.  @returns milliseconds until each was ready */
export async function visit(page: Page, hands: Hands, open: () => Promise<unknown>): Promise<Ready> {
  const since = async (act: () => Promise<unknown>) => {
    const start = performance.now();
    await act();
    return Math.round(performance.now() - start);
  };
  const shown = await since(async () => {
    await open();
    await page.getByRole('radio', { name: SIXTEEN_VALVES }).waitFor();
  });
  const ear = await since(async () => {
    await page.getByRole('button', { name: /turn it on/i }).click();
    await expect(page.getByText('Nothing heard yet.')).toBeVisible({ timeout: 60_000 });
  });
  await page.getByLabel(/mechanic, who/i).fill('Robot');
  await page.getByRole('radio', { name: /built-in voice/i }).check();
  const firstSound = page.evaluate(
    () => new Promise((resolve) => document.addEventListener('lashwright:sound', resolve, { once: true })),
  );
  const voice = await since(async () => {
    await page.getByRole('button', { name: 'Begin' }).click();
    await firstSound;
  });
  // Any key that stands for nothing only cuts the mouth.
  const begun = await hands.press('Shift');
  expect(begun.place).toBe('identify@-/-');
  return { shown, ear, voice };
}

/** When the next sentence begins to sound, as the page's `performance.now()`; null where there is none. */
const nextSound = (page: Page) =>
  page.evaluate(
    (limit) =>
      new Promise<number | null>((resolve) => {
        const hear = (event: Event) => resolve((event as CustomEvent<{ at: number }>).detail.at);
        document.addEventListener('lashwright:sound', hear, { once: true });
        setTimeout(() => {
          document.removeEventListener('lashwright:sound', hear);
          resolve(null);
        }, limit);
      }),
    5_000,
  );

export interface Answer {
  /** Milliseconds from the last sample of speech to the first of the read-back. */
  readonly latency: number;
  /** From a key that cuts the mouth to the open ear; the echo's pause is part of it. */
  readonly silence: number;
}

/** Answers aloud what the app asks with a voice, and cuts it each time as soon as it begins to answer. */
export async function answerAloud(robot: Robot, hands: Hands, count: number): Promise<Answer[]> {
  const answers: Answer[] = [];
  const mechanic = new Mechanic();
  for (let tries = 0; answers.length < count && tries < 2 * count; tries++) {
    const { book, going } = hands.now!;
    const sound = nextSound(hands.page);
    const ended = await robot.say(mechanic.next(book, going)!);
    const at = await sound;
    if (at === null) continue;
    const cut = performance.now();
    await hands.press('Shift'); // stands for nothing, so that it only cuts
    answers.push({ latency: at - ended, silence: performance.now() - cut });
  }
  return answers;
}
