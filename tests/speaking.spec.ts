// The mouth in a real browser under the app's Content-Security-Policy: it loads, sounds, is cut, and tells the truth
// about when. The page is built from the room alone, so that this needs no other part of the app.
import { mkdtemp, rm, writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { expect, test } from '@playwright/test';
import { build, type PreviewServer, preview } from 'vite';
import type { openMouth } from '../src/speaking/mouth.ts';
import { watchPlaying } from './played.ts';

declare global {
  var speaking: { openMouth: typeof openMouth };
}

const CONTENT_SECURITY_POLICY = "default-src 'self'; script-src 'self' 'wasm-unsafe-eval'";
const mouthPath = fileURLToPath(import.meta.resolve('../src/speaking/mouth.ts'));

let folder: string;
let server: PreviewServer;
let address: string;

test.beforeAll(async () => {
  // Inside the project, or the synthesiser's package would not be found.
  folder = await mkdtemp(fileURLToPath(import.meta.resolve('../node_modules/.speaking-')));
  await writeFile(
    join(folder, 'index.html'),
    '<!doctype html><title>speaking</title><script type="module" src="./page.js"></script>',
  );
  await writeFile(
    join(folder, 'page.js'),
    `import { openMouth } from ${JSON.stringify(mouthPath)}; globalThis.speaking = { openMouth };`,
  );
  const shared = { root: folder, configFile: false, logLevel: 'error' } as const;
  await build({ ...shared, build: { target: 'es2022' }, worker: { format: 'es' } });
  const headers = { 'Content-Security-Policy': CONTENT_SECURITY_POLICY };
  server = await preview({ ...shared, preview: { port: 0, headers } });
  address = server.resolvedUrls?.local[0] ?? '';
});

test.afterAll(async () => {
  await server.close();
  await rm(folder, { recursive: true });
});

let played: Awaited<ReturnType<typeof watchPlaying>>;

test.beforeEach(async ({ page }) => {
  played = await watchPlaying(page);
  await page.goto(address);
  await page.waitForFunction(() => 'speaking' in globalThis);
  await page.mouse.click(10, 10); // sound needs a touch first
});

test('without a voice of the device the built-in one speaks, for as long as it says', async ({ page }) => {
  const seen = await page.evaluate(async () => {
    const computed: string[] = [];
    const post = Worker.prototype.postMessage;
    Worker.prototype.postMessage = function (message: { kind: string; text: string }) {
      if (message.kind === 'synthesise') computed.push(message.text);
      post.call(this, message);
    };
    const faults: string[] = [];
    const bytes: number[] = [];
    const opening = performance.now();
    const mouth = await speaking.openMouth({
      prefer: 'platform',
      onFault: ({ voice, next }) => faults.push(`${voice} → ${next}`),
      onProgress: ({ loaded }) => bytes.push(loaded),
    });
    await mouth.say('Set.');
    const loadAndSay = performance.now() - opening;
    let firstSound = 0;
    mouth.onFirstSound((at) => {
      firstSound = at;
    });
    mouth.prepare(['Intake two, zero point one eight, set.']);
    while (computed.length < 2) await new Promise((resolve) => setTimeout(resolve, 10));
    const asked = performance.now();
    await mouth.say('Intake two, zero point one eight, set.');
    const prepared = { latency: firstSound - asked, sounded: performance.now() - firstSound };
    const askedUnprepared = performance.now();
    await mouth.say('Exhaust four, seven thou, drag okay?');
    const latencyUnprepared = firstSound - askedUnprepared;
    mouth.close();
    return { faults, loaded: bytes.at(-1), loadAndSay, prepared, latencyUnprepared, computed };
  });
  console.log(JSON.stringify(seen));
  expect(seen.faults).toEqual(['platform → built-in slt']);
  expect(seen.loaded).toBeGreaterThan(15_000_000);
  // What was made ready is not computed again.
  expect(seen.computed).toEqual([
    'Set.',
    'Intake two, zero point one eight, set.',
    'Exhaust four, seven thou, drag okay?',
  ]);
  const sentence = (await played())[1]!;
  expect(sentence).toEqual({ whole: expect.any(Number), cutAfter: null });
  expect(sentence.whole).toBeGreaterThan(1.8);
  expect(sentence.whole).toBeLessThan(3.5);
  expect(seen.prepared.sounded, 'the whole of it').toBeGreaterThan(900 * sentence.whole);
});

test('a cut is silence at once, and a tone is over when it has sounded', async ({ page }) => {
  const seen = await page.evaluate(async () => {
    const mouth = await speaking.openMouth({ prefer: 'built-in', voice: 'awb' });
    const saying = mouth.say('Turn the crankshaft to top dead centre on cylinder one, then say carry on.');
    await new Promise<void>((resolve) => mouth.onFirstSound(() => resolve()));
    await new Promise((resolve) => setTimeout(resolve, 200));
    const cutting = performance.now();
    mouth.cut();
    await saying;
    const cut = performance.now() - cutting;
    const toning = performance.now();
    for (const tone of ['taken', 'refused', 'asked', 'listening'] as const) await mouth.tone(tone);
    const tones = performance.now() - toning;
    return { cut, tones };
  });
  console.log(JSON.stringify(seen));
  const [sentence] = await played();
  expect(sentence!.whole).toBeGreaterThan(3);
  expect(sentence!.cutAfter, 'long before its end').toBeLessThan(sentence!.whole / 2);
  expect(seen.tones).toBeGreaterThan(550);
});
