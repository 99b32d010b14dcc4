// A newer version of the app never breaks into the work: it waits on the device until somebody takes it before the work.
import { expect, type Page, test } from '@playwright/test';
import { faultsOf, Hands } from './page.ts';
import { Relay } from './relay.ts';

/** Looks for a newer version, and waits until it is on the device. */
const fetchNewer = (page: Page) =>
  page.evaluate(async () => {
    const registration = await navigator.serviceWorker.ready;
    await registration.update();
    while (!registration.waiting) await new Promise((later) => setTimeout(later, 50));
  });

test('a newer version waits until the session is over and it is asked for', async ({
  page,
  context,
  baseURL,
}) => {
  const relay = await Relay.to(baseURL!);
  const hands = await Hands.at(page);
  const loads: string[] = [];
  page.on('load', () => loads.push(page.url()));
  await page.goto(relay.origin);
  await page.getByLabel(/mechanic, who/i).fill('Robot');
  await page.getByRole('radio', { name: /no voice/i }).check();
  await hands.touch('Begin');
  await hands.touch(/^affirm/i);

  relay.renew();
  await fetchNewer(page);
  expect((await hands.touch(/^done/i)).place).toBe('cautions@-/-');
  expect(loads).toHaveLength(1);

  // Another tab may not take it either, for that would load this one anew.
  const other = await context.newPage();
  await other.goto(relay.origin);
  await other.getByRole('button', { name: 'Take it now' }).click();
  await expect(faultsOf(other)).toContainText('Lashwright is at work in another tab.');
  expect(loads).toHaveLength(1);
  await other.close();

  await page.reload();
  await expect(page.getByRole('button', { name: 'Go on with it' })).toBeVisible();
  const taken = page.waitForEvent('load');
  await page.getByRole('button', { name: 'Take it now' }).click();
  await taken;
  await expect(page.getByLabel(/mechanic, who/i)).toHaveValue('Robot');
  await expect(page.getByRole('button', { name: 'Go on with it' })).toBeVisible();
  await expect(page.getByRole('button', { name: 'Take it now' })).toHaveCount(0);
  expect(await page.evaluate(async () => (await navigator.serviceWorker.ready).waiting)).toBeNull();
  await relay.close();
});
