// The ear fitted to a voice by five phrases, in sound: kept for one person, in the record, forgotten at a touch.
import { expect, type Locator, type Page, test } from '@playwright/test';
import { acceptedLoss, CLEAR_LEAD } from '../../src/hearing/strict.ts';
import { FIT_PHRASES } from '../../src/phrases/fitting.ts';
import { expectAccessible, faultsOf, Hands, prepare } from './page.ts';
import { Robot } from './robot.ts';

test.use({ serviceWorkers: 'block' });

const fitButton = (page: Page) => page.getByRole('button', { name: 'Fit the ear to my voice' });
const due = (page: Page): Locator => page.locator('.say');
const verdict = (page: Page): Locator => page.locator('.fitting .verdict');
const isListening = (page: Page) => expect(page.getByText('Listening', { exact: true })).toBeVisible();
const fitted = (page: Page) => page.getByText(/ear fitted to robot/i);

async function ready(page: Page): Promise<Robot> {
  const robot = await Robot.at(page, ['slt']);
  await prepare(page);
  await page.getByRole('button', { name: /turn it on/i }).click();
  await expect(page.getByText('Nothing heard yet.')).toBeVisible({ timeout: 30_000 });
  return robot;
}

async function sayPhrase(page: Page, robot: Robot, phrase: string): Promise<void> {
  await expect(due(page)).toHaveText(phrase);
  await isListening(page);
  await robot.say(phrase);
}

test('five phrases fit the ear to one person, until it is forgotten', async ({ page }) => {
  const hands = await Hands.at(page);
  const robot = await ready(page);
  // By keys alone: from the last choice before it to the phrases.
  await page.getByRole('checkbox', { name: /ask every time/i }).focus();
  await page.keyboard.press('Tab');
  await expect(fitButton(page)).toBeFocused();
  await page.keyboard.press('Enter');
  await expect(page.getByRole('heading', { name: 'Phrase 1 of 5' })).toBeFocused();
  await expectAccessible(page);
  for (const phrase of FIT_PHRASES) await sayPhrase(page, robot, phrase);
  await expect(page.getByRole('heading', { name: 'What the five phrases told' })).toBeFocused();
  await expect(page.getByText(/^robot: the voice is clear/i)).toBeVisible();
  await page.getByText(/words as this voice says them/).click();
  await expect(page.getByRole('listitem').filter({ hasText: 'thou th-ow' })).toBeVisible();
  await expectAccessible(page);
  await page.getByRole('button', { name: 'Keep this fit' }).click();
  await expect(fitted(page)).toBeVisible();
  await expect(page.getByRole('button', { name: 'Fit it anew' })).toBeFocused();
  await expectAccessible(page);

  // Kept for this person alone, and for the strict ear alone.
  await page.reload();
  await expect(fitted(page)).toBeVisible();
  await page.getByLabel(/mechanic, who/i).fill('Another');
  await expect(fitted(page)).toHaveCount(0);
  await page.getByLabel(/mechanic, who/i).fill(' robot');
  await expect(fitted(page)).toBeVisible();
  await page.goto('/vosk.html');
  await expect(page.getByRole('heading', { name: 'Microphone check' })).toBeVisible();
  await expect(page.getByRole('heading', { name: 'Speaker fit' })).toHaveCount(0);
  await page.goto('/');

  // The session's opening tells by which thresholds it is heard, and the fitted ear hears.
  await page.getByRole('button', { name: /turn it on/i }).click();
  await expect(page.getByText('Nothing heard yet.')).toBeVisible({ timeout: 30_000 });
  const begun = await hands.touch('Begin');
  expect(begun.book.fit).toMatchObject({
    accepts: 1,
    loss: acceptedLoss(Number.POSITIVE_INFINITY),
    lead: CLEAR_LEAD,
    says: { thou: 'TH AW' },
  });
  expect((await hands.after(() => robot.say('affirm'))).book.kept.map(({ entry }) => entry.type)).toEqual([
    'affirm',
  ]);

  await page.reload();
  await page.getByRole('button', { name: 'Forget the fit' }).click();
  await expect(fitted(page)).toHaveCount(0);
  await page.reload();
  await expect(page.getByRole('button', { name: 'Begin' })).toBeVisible();
  await expect(fitted(page)).toHaveCount(0);
});

test('a fit can be left in the middle, and bears other words and a microphone that goes away', async ({
  page,
}) => {
  const robot = await ready(page);
  await fitButton(page).click();
  await expect(due(page)).toHaveText(FIT_PHRASES[0]);
  await isListening(page);
  await robot.say('the weather was fine all week');
  await expect(verdict(page)).toContainText('That was not this phrase. Say it again.');
  await sayPhrase(page, robot, FIT_PHRASES[0]);
  await expect(due(page)).toHaveText(FIT_PHRASES[1]);

  await isListening(page);
  const saying = robot.say(FIT_PHRASES[1]);
  await expect(page.getByText('Hearing you')).toBeVisible();
  await robot.unplug();
  await expect(faultsOf(page)).toContainText('The microphone was unplugged');
  await expect(verdict(page)).toContainText('The microphone is off. What was said so far is not lost.');
  await saying;
  await page.getByRole('button', { name: 'Turn the microphone on' }).click();
  await sayPhrase(page, robot, FIT_PHRASES[1]);
  await expect(due(page)).toHaveText(FIT_PHRASES[2]);
  await page.getByRole('button', { name: 'Repeat the last one' }).click();
  await sayPhrase(page, robot, FIT_PHRASES[1]);
  await expect(due(page)).toHaveText(FIT_PHRASES[2]);

  await page.keyboard.press('Escape');
  await expect(fitButton(page)).toBeFocused();
  await expect(fitted(page)).toHaveCount(0);
  await robot.say('stand by');
  await expect(page.getByText('✓ Heard rightly.')).toBeVisible();
});

test('with too few phrases nothing is changed, and why is said', async ({ page }) => {
  await ready(page);
  await fitButton(page).click();
  for (const phrase of FIT_PHRASES) {
    await expect(due(page)).toHaveText(phrase);
    await page.getByRole('button', { name: 'Skip this one' }).click();
  }
  await expect(page.getByText(/only 0 of 5 phrases could be used.+nothing was changed/i)).toBeVisible();
  await expect(page.getByRole('button', { name: 'Keep this fit' })).toHaveCount(0);
  await page.getByRole('button', { name: /^back/i }).click();
  await expect(fitButton(page)).toBeFocused();
});

test('a fit that was made with another ear does not hold, and says so', async ({ page }) => {
  const hands = await Hands.at(page);
  await prepare(page);
  await page.evaluate(
    (kept) =>
      new Promise<void>((resolve) => {
        const request = indexedDB.open('lashwright fits');
        request.onsuccess = () => {
          const transaction = request.result.transaction('fits', 'readwrite');
          transaction.objectStore('fits').put(kept, 'robot');
          transaction.oncomplete = () => resolve();
        };
      }),
    {
      person: 'Robot',
      at: '2026-03-03T08:00:00Z',
      ear: 'older',
      accepts: 1.1,
      loss: 1.76,
      lead: 4,
      says: {},
    },
  );
  await page.reload();
  await expect(
    page.getByText(/ear fitted to robot on 3 March 2026\. .+the fit does not hold/i),
  ).toBeVisible();
  expect((await hands.touch('Begin')).book.fit).toBeUndefined();
});
