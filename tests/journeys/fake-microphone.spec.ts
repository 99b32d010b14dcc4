// Chromium's own microphone, which plays a file: the sound takes the whole way through the browser's capture.
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { chromium, expect, type Page, test } from '@playwright/test';
import { joined } from '../../src/hearing/joined.ts';
import { resample } from '../../tools/sound.ts';
import { synthesise, toWav } from '../../tools/speak.ts';
import { faultsOf, Hands, prepare } from './page.ts';

const RATE = 48_000;

/** Sentences, each followed by so many seconds of silence. */
async function spoken(script: readonly (readonly [words: string, pause: number])[]): Promise<Float32Array> {
  const parts: Float32Array[] = [];
  for (const [words, pause] of script) {
    if (words !== '') parts.push(resample(await synthesise(words, { voice: 'rms' }), 16_000, RATE));
    parts.push(new Float32Array(pause * RATE));
  }
  return joined(...parts);
}

async function withMicrophone(
  args: readonly string[],
  permissions: string[],
  journey: (page: Page) => Promise<void>,
): Promise<void> {
  const { launchOptions, baseURL } = test.info().project.use;
  const browser = await chromium.launch({
    ...launchOptions,
    args: [...(launchOptions?.args ?? []), ...args],
  });
  try {
    const context = await browser.newContext({ baseURL: baseURL!, permissions });
    await journey(await context.newPage());
  } finally {
    await browser.close();
  }
}

test("a session begins by what Chromium's own fake microphone plays", async () => {
  const folder = mkdtempSync(join(tmpdir(), 'lashwright-'));
  const file = join(folder, 'microphone.wav');
  // The file plays from the moment the microphone is opened.
  const script = [
    ['', 2],
    ['stand by', 5],
    ['affirm', 3],
    ['done', 3],
    ['done', 3],
  ] as const;
  writeFileSync(file, toWav(await spoken(script), RATE));
  const args = [
    '--use-fake-device-for-media-stream',
    '--use-fake-ui-for-media-stream',
    `--use-file-for-fake-audio-capture=${file}%noloop`,
  ];
  try {
    await withMicrophone(args, ['microphone'], async (page) => {
      const hands = await Hands.at(page);
      await prepare(page);
      await page.getByRole('button', { name: /turn it on/i }).click();
      await expect(page.getByText('✓ Heard rightly.')).toBeVisible({ timeout: 20_000 });
      const begun = await hands.touch('Begin');
      expect(begun.place).toBe('identify@-/-');
      await expect
        .poll(() => `${hands.now?.book.step} ${hands.now?.book.nth}`, { timeout: 20_000 })
        .toBe('cautions 2');
      expect(hands.now?.book.kept.map(({ entry }) => entry.type)).toEqual(['affirm', 'done', 'done']);
    });
  } finally {
    rmSync(folder, { recursive: true });
  }
});

test('a microphone that is there but not allowed is named as such', async () => {
  await withMicrophone(['--use-fake-device-for-media-stream'], ['geolocation'], async (page) => {
    await prepare(page);
    await page.getByRole('button', { name: /turn it on/i }).click();
    await expect(faultsOf(page)).toContainText('The microphone is not allowed', { timeout: 20_000 });
  });
});
