// A page that is loaded again, or a device that goes dark, costs nothing: the record is on the disk, and the work goes on
// where it was.
import { readFileSync } from 'node:fs';
import { expect, test } from '@playwright/test';
import { readRecord } from '../../src/logbook/record.ts';
import { STAGES, type Stage, stageOf } from '../../src/screens/stages.ts';
import { expectAccessible, Hands, promptOf, TWELVE_VALVES } from './page.ts';

test.use({ serviceWorkers: 'block' });

test('a session that is broken off in every stage goes on at the same step with the same entries', async ({
  page,
}) => {
  test.setTimeout(180_000);
  // Nothing here listens: the ear's model need not be loaded again and again.
  await page.route('**/*.safetensors', (route) => route.abort());
  const hands = await Hands.at(page);
  await hands.begin(TWELVE_VALVES);
  let now = await hands.touch(/^affirm/i);
  const seen = new Set<Stage>();
  const isNewStage = () => !seen.has(stageOf(now.book));
  for (;;) {
    now = await hands.work((later) => {
      now = later;
      return isNewStage() || now.book.step === 'closed';
    });
    if (now.book.step === 'closed') break;
    seen.add(stageOf(now.book));
    const before = { prompt: await promptOf(page).textContent(), now };

    await page.reload();
    await page.getByRole('radio', { name: /no voice/i }).check();
    now = await hands.goOn();
    expect(now.place, 'step').toBe(before.now.place);
    expect(await promptOf(page).textContent()).toBe(before.prompt);
    expect(now.book.kept, 'entries').toEqual(before.now.book.kept);
  }
  expect([...seen]).toEqual([...STAGES]);

  await expect(page.getByText(`${now.book.kept.length} entries, 0 of them superseded`)).toBeVisible();
  await expect(page.getByText(/signed by robot/i)).toBeVisible();
  await expect(page.getByRole('rowheader')).toHaveCount(12);
  await expectAccessible(page);

  await page.reload();
  await expect(page.getByRole('button', { name: 'Begin' })).toBeVisible();
  await expect(page.getByText('A session was broken off')).toHaveCount(0);
  const saved = page.waitForEvent('download');
  await page.getByRole('button', { name: 'Save record' }).click();
  const record = readRecord(readFileSync(await (await saved).path(), 'utf8'));
  expect(record.ok && record.record.signed.mechanic).toBe('Robot');
});
