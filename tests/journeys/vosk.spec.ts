// The app with the other engine: what was filled in comes along, a model is brought as a file or as a folder, what is wrong
// with one is said, and a good one hears, without a network too.
import { execFileSync } from 'node:child_process';
import { existsSync, mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { expect, type Page, test } from '@playwright/test';
import { archive, modelFiles } from '../vosk/fixtures.ts';
import { faultsOf, Hands, TWELVE_VALVES } from './page.ts';
import { Relay } from './relay.ts';
import { Robot } from './robot.ts';

/** What is said of the model before one was brought. */
const BEFORE = existsSync('models/vosk') ? 'Model: the one in models/vosk.' : 'There is no model yet.';

const turnItOn = (page: Page) => page.getByRole('button', { name: /turn it on|try again/i }).click();

async function choosePacked(page: Page, name: string, content: Buffer): Promise<void> {
  const file = { name, mimeType: 'application/gzip', buffer: content };
  await page.getByLabel('Choose a packed model').setInputFiles(file);
}

/** Fills in what must be given, without a voice. */
async function fillIn(page: Page): Promise<void> {
  await page.getByLabel(/mechanic, who/i).fill('Robot');
  await page.getByRole('radio', { name: /no voice/i }).check();
}

async function expectHandsWork(hands: Hands): Promise<void> {
  expect((await hands.touch('Begin')).place).toBe('identify@-/-');
  expect((await hands.touch(/^affirm/i)).place).toBe('cautions@-/-');
}

test('choosing vosk keeps what was filled in, there and back', async ({ page }) => {
  await page.goto('/');
  await page.getByRole('radio', { name: TWELVE_VALVES }).check();
  await fillIn(page);
  await page.getByLabel('Number').first().fill('F 27');
  const expectAll = async () => {
    await expect(page.getByRole('radio', { name: TWELVE_VALVES })).toBeChecked();
    await expect(page.getByLabel(/mechanic, who/i)).toHaveValue('Robot');
    await expect(page.getByRole('radio', { name: /no voice/i })).toBeChecked();
    await expect(page.getByLabel('Number').first()).toHaveValue('F 27');
  };
  await page.getByRole('radio', { name: /^Vosk/ }).check();
  await page.waitForURL('**/vosk.html');
  await expectAll();
  await page.getByRole('radio', { name: /^The strict ear/ }).check();
  await page.waitForURL(/\/$/);
  await expect(page.getByRole('radio', { name: /^The strict ear/ })).toBeChecked();
  await expectAll();
});

test('a model that cannot be used is told in a sentence, and hands go on', async ({ page }) => {
  await Robot.at(page, ['rms']);
  const hands = await Hands.at(page);
  await page.goto('/vosk.html');
  await fillIn(page);
  const faults = faultsOf(page);

  await expect(page.getByText(BEFORE)).toBeVisible();
  if (!existsSync('models/vosk')) {
    await turnItOn(page);
    await expect(faults).toContainText('Vosk has no model yet: choose one first.', { timeout: 30_000 });
  }

  const files = modelFiles('runtime');
  await choosePacked(page, 'holiday.tar.gz', Buffer.from('any'));
  await expect(faults).toContainText('The model is no .tar.gz archive.');
  await choosePacked(page, 'half.tar.gz', archive(files).subarray(0, 100_000));
  await expect(faults).toContainText('The model archive is damaged or cut short.');
  await expect(page.getByText(BEFORE)).toBeVisible();

  const network = files.get('am/final.mdl')!.subarray(0, 100_000);
  await choosePacked(page, 'broken.tar.gz', archive(new Map(files).set('am/final.mdl', network)));
  await expect(page.getByText('Model: broken.tar.gz.')).toBeVisible();
  await turnItOn(page);
  await expect(faults).toContainText('The Vosk model cannot be loaded', { timeout: 60_000 });

  // A whole one, but with other words than the product's.
  await choosePacked(page, 'foreign.tar.gz', archive(files));
  await expect(page.getByText('Model: foreign.tar.gz.')).toBeVisible();
  await turnItOn(page);
  await expect(faults).toContainText(/The Vosk model does not know "by", "stand"\. Choose another model/, {
    timeout: 60_000,
  });
  await expectHandsWork(hands);
  await expect(faults).toContainText(/The Vosk model does not know .*"carry"/);
});

test('the folder that vosk-folder writes is heard with, without a network too', async ({
  page,
  context,
  baseURL,
}) => {
  const relay = await Relay.to(baseURL!);
  const folder = mkdtempSync(join(tmpdir(), 'lashwright-model-'));
  try {
    execFileSync('npm', ['run', '--silent', 'vosk-folder', '--', '--out', folder]);
    const robot = await Robot.at(page, ['rms']);
    const hands = await Hands.at(page);
    await page.goto(`${relay.origin}/vosk.html`);
    // What is used from now on is kept.
    await page.evaluate(async () => {
      await navigator.serviceWorker.ready;
      while (!navigator.serviceWorker.controller) await new Promise((later) => setTimeout(later, 50));
    });
    await fillIn(page);
    await page.getByLabel('Choose the folder of a model').setInputFiles(folder);
    await expect(page.getByText(/^Model: lashwright-model-/)).toBeVisible();
    await turnItOn(page);
    await expect(page.getByText('Nothing heard yet.')).toBeVisible({ timeout: 60_000 });
    await robot.say('stand by');
    await expect(page.getByText('✓ Heard rightly.')).toBeVisible();

    await context.setOffline(true);
    await relay.close();
    await page.reload();
    await turnItOn(page);
    await expect(page.getByText('Nothing heard yet.')).toBeVisible({ timeout: 60_000 });
    expect((await hands.touch('Begin')).place).toBe('identify@-/-');
    const begun = await hands.after(() => robot.say('affirm'));
    expect(begun.place).toBe('cautions@-/-');
    expect((await hands.after(() => robot.say('done'))).book.nth).toBe(1);
    expect(robot.heard.map(({ text }) => text)).toEqual(['stand by', 'affirm', 'done']);
    await expect(faultsOf(page)).toBeEmpty();
  } finally {
    rmSync(folder, { recursive: true });
  }
});
