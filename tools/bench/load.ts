// How soon the built app is ready in Chromium, on a first visit and from its cache without a network, and how soon an answer
// is read back: the tables of docs/figures.md.  Usage: npm run bench:load [VISITS [ANSWERS]]
import { cpus } from 'node:os';
import { type BrowserContext, chromium } from '@playwright/test';
import { preview } from 'vite';
import { LAUNCH } from '../../playwright.config.ts';
import { Hands } from '../../tests/journeys/page.ts';
import { Relay } from '../../tests/journeys/relay.ts';
import { Robot } from '../../tests/journeys/robot.ts';
import { type Answer, answerAloud, quantile, type Ready, visit } from '../../tests/journeys/timing.ts';

const [visits = 5, count = 40] = process.argv.slice(2).map(Number);

const app = await preview({ logLevel: 'error', preview: { port: 0, open: false } });
const address = app.resolvedUrls!.local[0]!;
const browser = await chromium.launch(LAUNCH);

/** As on a device that never saw the app. */
async function fresh<T>(work: (context: BrowserContext) => Promise<T>): Promise<T> {
  const context = await browser.newContext({ permissions: ['microphone'] });
  // tsx leaves calls of its own helper in the functions that are sent into the page.
  await context.addInitScript('globalThis.__name = (named) => named;');
  try {
    return await work(context);
  } finally {
    await context.close();
  }
}

const bothVisits = () =>
  fresh(async (context): Promise<{ cold: Ready; cached: Ready }> => {
    const relay = await Relay.to(address);
    const page = await context.newPage();
    await Robot.at(page, ['rms']);
    const hands = await Hands.at(page);
    const cold = await visit(page, hands, () => page.goto(relay.origin));
    await page.evaluate(() => navigator.serviceWorker.ready);
    await context.setOffline(true);
    await relay.close();
    return { cold, cached: await visit(page, hands, () => page.reload()) };
  });

const answers = () =>
  fresh(async (context): Promise<Answer[]> => {
    const page = await context.newPage();
    const robot = await Robot.at(page, ['rms']);
    const hands = await Hands.at(page);
    await visit(page, hands, () => page.goto(address));
    return answerAloud(robot, hands, count);
  });

const row = (...cells: readonly (string | number)[]) => console.log(`| ${cells.join(' | ')} |`);

try {
  console.log(
    `${new Date().toISOString().slice(0, 10)}, ${cpus()[0]!.model}, ${cpus().length} cores, Chromium ${browser.version()}\n`,
  );
  const ready: Awaited<ReturnType<typeof bothVisits>>[] = [];
  for (let n = 0; n < visits; n++) ready.push(await bothVisits());
  row(`ms, median of ${visits}`, 'page shown', 'ear listening', 'voice (Begin to first sound)');
  row('---', '---', '---', '---');
  for (const [name, of] of [
    ['first visit', 'cold'],
    ['from cache, no network and no server', 'cached'],
  ] as const) {
    const median = (part: keyof Ready) =>
      quantile(
        ready.map((each) => each[of][part]),
        0.5,
      );
    row(name, median('shown'), median('ear'), median('voice'));
  }
  console.log();
  const given = await answers();
  row(`ms, ${given.length} answers aloud`, 'median', '95 %');
  row('---', '---', '---');
  for (const [name, of] of [
    ['last sample of speech to first sample of read-back', 'latency'],
    ['key press to open ear', 'silence'],
  ] as const) {
    const values = given.map((each) => each[of]);
    row(name, Math.round(quantile(values, 0.5)), Math.round(quantile(values, 0.95)));
  }
} finally {
  await browser.close();
  await app.close();
}
