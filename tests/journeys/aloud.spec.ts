// Ear and mouth taking turns: with the built-in voice on, nothing is heard while the app speaks, a key silences it, and an
// answer is read back soon.
import { expect, type Page, test } from '@playwright/test';
import { Mechanic } from '../../tools/mechanic.ts';
import { Hands, prepare, SIXTEEN_VALVES } from './page.ts';
import { Robot } from './robot.ts';

const ANSWERS = 12;
const earClosed = (page: Page) => page.getByText('Ear closed while speaking');

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

/** The value below which so large a part of them lies. */
const quantile = (values: readonly number[], part: number) =>
  values.toSorted((a, b) => a - b)[Math.ceil(part * values.length) - 1]!;

test('a dozen answers by voice: deaf while speaking, cut by a key, read back soon', async ({ page }) => {
  const robot = await Robot.at(page, ['rms']);
  const hands = await Hands.at(page);
  await prepare(page, SIXTEEN_VALVES, /built-in voice/i);
  await page.getByRole('button', { name: /turn it on/i }).click();
  await expect(page.getByText('Nothing heard yet.')).toBeVisible({ timeout: 30_000 });

  await test.step('what is said while the app speaks is not taken', async () => {
    const begun = await hands.after(async () => {
      await page.getByRole('button', { name: 'Begin' }).click();
      await expect(earClosed(page)).toBeVisible();
      await robot.say('affirm');
      await expect(earClosed(page), 'still speaking').toBeVisible({ timeout: 1 });
    });
    expect(begun.place).toBe('identify@-/-');
    expect(robot.heard).toEqual([]);
  });

  const latencies: number[] = [];
  const silences: number[] = [];
  const mechanic = new Mechanic();
  let now = hands.now!;
  for (let tries = 0; latencies.length < ANSWERS && tries < 2 * ANSWERS; tries++) {
    const words = mechanic.next(now.book, now.going)!;
    const sound = nextSound(page);
    const ended = await robot.say(words);
    const at = await sound;
    if (at === null) continue;
    latencies.push(at - ended);
    const cut = performance.now();
    now = await hands.press('Shift'); // stands for nothing, so that it only cuts
    silences.push(performance.now() - cut);
  }
  expect(latencies).toHaveLength(ANSWERS);
  expect(now.book.kept.length).toBeGreaterThan(ANSWERS / 2);
  console.log(
    `End of speech to first sound, ${ANSWERS} answers: median ${Math.round(quantile(latencies, 0.5))} ms, ` +
      `95 % ${Math.round(quantile(latencies, 0.95))} ms; key to open ear: median ${Math.round(quantile(silences, 0.5))} ms`,
  );
  expect(quantile(latencies, 0.5), 'a machine that is not hung').toBeLessThan(3_000);
  // The cautions that are cut take more than four seconds each.
  expect(quantile(silences, 0.5)).toBeLessThan(2_000);
});

test('an ear that is ready only while the app is speaking waits until it has spoken', async ({ page }) => {
  const robot = await Robot.at(page, ['rms']);
  const hands = await Hands.at(page);
  await hands.begin();
  await page.reload();
  await page.getByRole('radio', { name: /built-in voice/i }).check();
  const now = await hands.after(async () => {
    await page.getByRole('button', { name: 'Go on with it' }).click();
    await expect(earClosed(page)).toBeVisible({ timeout: 15_000 });
    await robot.say('affirm');
    await expect(earClosed(page), 'still speaking').toBeVisible({ timeout: 1 });
  });
  expect(now.place).toBe('identify@-/-');
  expect(robot.heard).toEqual([]);
});
