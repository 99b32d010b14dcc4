// Ear and mouth taking turns: with the built-in voice on, nothing is heard while the app speaks, a key silences it, and an
// answer is read back.
import { expect, type Page, test } from '@playwright/test';
import { watchPlaying } from '../played.ts';
import { Hands, prepare, SIXTEEN_VALVES } from './page.ts';
import { Robot } from './robot.ts';
import { answerAloud, quantile } from './timing.ts';

const ANSWERS = 12;
const earClosed = (page: Page) => page.getByText('Ear closed while speaking');

/** Says something while the app speaks, from before to after which the ear stays closed. */
async function interrupt(page: Page, robot: Robot): Promise<void> {
  await expect(earClosed(page)).toBeVisible({ timeout: 15_000 });
  await robot.say('affirm');
  expect(await earClosed(page).isVisible(), 'still speaking').toBe(true);
}

test('a dozen answers by voice: deaf while speaking, cut by a key, read back', async ({ page }) => {
  const played = await watchPlaying(page);
  const robot = await Robot.at(page, ['rms']);
  const hands = await Hands.at(page);
  await prepare(page, SIXTEEN_VALVES, /built-in voice/i);
  await page.getByRole('button', { name: /turn it on/i }).click();
  await expect(page.getByText('Nothing heard yet.')).toBeVisible({ timeout: 30_000 });

  await test.step('what is said while the app speaks is not taken', async () => {
    const begun = await hands.after(async () => {
      await page.getByRole('button', { name: 'Begin' }).click();
      await interrupt(page, robot);
    });
    expect(begun.place).toBe('identify@-/-');
    expect(robot.heard).toEqual([]);
  });

  const before = (await played()).length;
  const answers = await answerAloud(robot, hands, ANSWERS);
  expect(answers).toHaveLength(ANSWERS);
  expect(hands.now!.book.kept.length).toBeGreaterThan(ANSWERS / 2);
  // From one open ear to the next something was heard first, then said.
  const turns = robot.told.join(' ').split('listening').slice(1, -1);
  expect(turns.filter((turn) => !/heard.*sound/.test(turn))).toEqual([]);
  // Here and there a read-back may be over before the key comes.
  const cut = (await played()).slice(before).filter(({ cutAfter }) => cutAfter !== null);
  expect(cut.length).toBeGreaterThan(ANSWERS / 2);
  expect(cut.filter(({ cutAfter, whole }) => cutAfter! >= whole)).toEqual([]);
  const figures = (of: 'latency' | 'silence') => {
    const values = answers.map((answer) => answer[of]);
    return `median ${Math.round(quantile(values, 0.5))} ms, 95 % ${Math.round(quantile(values, 0.95))} ms`;
  };
  console.log(
    `End of speech to first sound, ${ANSWERS} answers: ${figures('latency')}; key to open ear: ${figures('silence')}`,
  );
});

test('an ear that is ready only while the app is speaking waits until it has spoken', async ({ page }) => {
  const robot = await Robot.at(page, ['rms']);
  const hands = await Hands.at(page);
  await hands.begin();
  await hands.touch(/^affirm/i);
  await page.reload();
  await page.getByRole('radio', { name: /built-in voice/i }).check();
  const now = await hands.after(async () => {
    await page.getByRole('button', { name: 'Go on with it' }).click();
    await interrupt(page, robot);
  });
  expect(now.place).toBe('cautions@-/-');
  expect(robot.heard).toEqual([]);
});
