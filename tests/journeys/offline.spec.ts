// After the first visit the app needs no network: page, ear and voice come from the device, and nothing is asked of
// anybody else, then or before.
import { createServer, type Server } from 'node:http';
import type { AddressInfo } from 'node:net';
import { expect, type Page, test } from '@playwright/test';
import { Hands, SIXTEEN_VALVES } from './page.ts';
import { Robot } from './robot.ts';

/** Serves what the app's own server serves, until it is closed for good. */
async function relay(to: string): Promise<{ server: Server; origin: string }> {
  const server = createServer(async ({ url = '/' }, answer) => {
    const { status, headers, body } = await fetch(new URL(url, to));
    answer.writeHead(status, { 'content-type': headers.get('content-type') ?? 'text/plain' });
    for await (const chunk of body ?? []) answer.write(chunk);
    answer.end();
  });
  await new Promise<void>((listening) => server.listen(0, 'localhost', listening));
  return { server, origin: `http://localhost:${(server.address() as AddressInfo).port}` };
}

/** Opens the page, turns ear and voice on and begins a session. @returns milliseconds until each was ready */
async function visit(page: Page, hands: Hands, open: () => Promise<unknown>) {
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

test('after one visit everything works with no network and no server, and nothing ever left the origin', async ({
  page,
  context,
  baseURL,
}) => {
  const { server, origin } = await relay(baseURL!);
  const asked: string[] = [];
  context.on('request', (request) => asked.push(request.url()));
  const robot = await Robot.at(page, ['rms']);
  const hands = await Hands.at(page);

  const cold = await visit(page, hands, () => page.goto(origin));
  const policy = page.locator('meta[http-equiv="Content-Security-Policy"]');
  await expect(policy).toHaveAttribute('content', /default-src 'self'; .*connect-src 'self'/);
  await page.evaluate(() => navigator.serviceWorker.ready);

  await context.setOffline(true);
  server.closeAllConnections();
  await new Promise((closed) => server.close(closed));
  const cached = await visit(page, hands, () => page.reload());
  await hands.after(() => robot.say('affirm'));
  expect(robot.heard.map(({ text }) => text)).toEqual(['affirm']);
  console.log(`Load to ready in ms, cold ${JSON.stringify(cold)}, from cache ${JSON.stringify(cached)}`);

  expect(asked.length).toBeGreaterThan(5);
  expect(asked.filter((url) => new URL(url).origin !== origin)).toEqual([]);
});
