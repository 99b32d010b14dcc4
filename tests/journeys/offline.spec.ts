// After the first visit the app needs no network: page, ear and voice come from the device, and nothing is asked of
// anybody else, then or before.
import { expect, test } from '@playwright/test';
import { Hands } from './page.ts';
import { Relay } from './relay.ts';
import { Robot } from './robot.ts';
import { visit } from './timing.ts';

test('after one visit everything works with no network and no server, and nothing ever left the origin', async ({
  page,
  context,
  baseURL,
}) => {
  const relay = await Relay.to(baseURL!);
  const { origin } = relay;
  const asked: string[] = [];
  context.on('request', (request) => asked.push(request.url()));
  const robot = await Robot.at(page, ['rms']);
  const hands = await Hands.at(page);

  const cold = await visit(page, hands, () => page.goto(origin));
  const policy = page.locator('meta[http-equiv="Content-Security-Policy"]');
  await expect(policy).toHaveAttribute('content', /default-src 'self'; .*connect-src 'self'/);
  await page.evaluate(() => navigator.serviceWorker.ready);

  await context.setOffline(true);
  await relay.close();
  const cached = await visit(page, hands, () => page.reload());
  await hands.after(() => robot.say('affirm'));
  expect(robot.heard.map(({ text }) => text)).toEqual(['affirm']);
  console.log(`Load to ready in ms, cold ${JSON.stringify(cold)}, from cache ${JSON.stringify(cached)}`);

  await page.goto(`${origin}/licences.txt`);
  await expect(page.getByText('Permission is hereby granted').first()).toBeVisible();
  await page.goto(`${origin}/#about`);
  await expect(page.getByRole('heading', { name: 'About Lashwright' })).toBeVisible();

  expect(asked.length).toBeGreaterThan(5);
  expect(asked.filter((url) => new URL(url).origin !== origin)).toEqual([]);
});
