// The Vosk engine for real, in Chromium and under a Content-Security-Policy: what it hears, what it refuses, how it fails.
// It is also the outside check of our own decoder: the same network and grammar in foreign hands must hear the same.
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { expect, type Page, test } from '@playwright/test';
import { countSentences, graphOf } from '../../src/phrases/wordgraph.ts';
import { fullLexicon } from '../../tools/lexicon.ts';
import { voskFolder } from '../../tools/vosk-folder.ts';
import { findModel, openVoskInBrowser, POLICY, packed, sentence, servePage } from '../../tools/vosk-host.ts';
import { everyWord } from '../../tools/words.ts';
import { phrases, sound, clips as spoken } from '../hearing-clips.ts';
import { archive, type Clip, clips, modelFiles } from './fixtures.ts';
import { strictGrammar } from './grammar.ts';
import type {} from './host.ts';
import { earModel, strictEar } from './strict-ear.ts';

test.describe.configure({ mode: 'serial' });

const TESTS_EAR = 'tests/data/vosk/ear.safetensors';
const SHIPPED_EAR = 'models/ear.safetensors';
const folder = mkdtempSync(join(tmpdir(), 'lashwright-models-'));
let server: Awaited<ReturnType<typeof servePage>>;

/** Writes an archive to be served.  @returns its path. */
function put(name: string, files: Map<string, Buffer>): string {
  const path = join(folder, name);
  writeFileSync(path, archive(files));
  return path;
}

test.beforeAll(async () => {
  const runtime = modelFiles('runtime');
  const network = runtime.get('am/final.mdl')!;
  const written = (bits: 8 | 16) => voskFolder(earModel(SHIPPED_EAR), everyWord(), fullLexicon(), bits);
  /** A folder that we wrote, with the stored grammar instead of its lists. */
  const strict = (folder: Map<string, Buffer>) =>
    new Map([...modelFiles('strict'), ...[...folder].filter(([path]) => !path.startsWith('graph/'))]);
  server = await servePage([
    put('runtime.tar.gz', runtime),
    put('strict.tar.gz', modelFiles('strict')),
    put('strict-16.tar.gz', strict(written(16))),
    put('strict-8.tar.gz', strict(written(8))),
    put('written.tar.gz', written(16)),
    put('cut.tar.gz', new Map(runtime).set('am/final.mdl', network.subarray(0, 100_000))),
    put('no-graph.tar.gz', new Map([...runtime].filter(([path]) => !path.startsWith('graph/HCL')))),
  ]);
});
test.beforeEach(({ page }) => page.goto(server.address));
test.afterAll(async () => {
  await server.close();
  rmSync(folder, { recursive: true });
});

const open = (page: Page, address: string, how: Parameters<Window['host']['open']>[1] = {}) =>
  page.evaluate(([address, how]) => window.host.open(address, how), [address, how] as const);
const hear = (page: Page, clip: Clip) =>
  page.evaluate((samples) => window.host.hear(samples), packed(clip.samples));
/** What the user is told when a model cannot be opened. */
const told = (...how: Parameters<typeof open>) => open(...how).then(() => 'It opened.', sentence);

test('hears what stands in the list and refuses the rest', async ({ page }) => {
  expect(await open(page, '/runtime.tar.gz')).toBe('list');
  const clean = clips().filter(({ name }) => name.endsWith('clean'));
  const list = graphOf(clean.flatMap(({ said }) => said ?? []));
  await page.evaluate((list) => window.host.expect(list), list);
  const wrong: string[] = [];
  for (const clip of clean) {
    const heard = await hear(page, clip);
    if (heard.text !== clip.said) wrong.push(`${clip.name}: ${heard.text}`);
    if (heard.text === null) expect(heard).toMatchObject({ rejected: 'unknown', confidence: 0, words: [] });
    else {
      expect(heard.words.map(({ word }) => word).join(' ')).toBe(heard.text);
      expect(heard.confidence).toBe(Math.min(...heard.words.map(({ confidence }) => confidence)));
    }
    expect(heard.from).toBeLessThan(heard.to);
    expect(heard.to).toBeLessThanOrEqual(clip.samples.length);
  }
  // This network takes one voice's "next valve" for other speech, whichever decoder walks over it.
  expect(wrong).toEqual(['slt-3 clean: null']);
});

test('hears by the list of the moment, and silence as noise', async ({ page }) => {
  await open(page, '/runtime.tar.gz');
  const clip = clips().find(({ said }) => said === 'go back')!;
  const hearWith = async (sentences: string[]) => {
    await page.evaluate((list) => window.host.expect(list), graphOf(sentences));
    return hear(page, clip);
  };
  expect((await hearWith(['go back', 'say again'])).text).toBe('go back');
  // The words are in this list, too, but the library minds no order.
  expect(await hearWith(['back go', 'say again'])).toMatchObject({ text: null, rejected: 'unknown' });
  expect((await hearWith(['go back'])).text).toBe('go back');
  const silence = { name: 'silence', said: null, samples: new Float32Array(16_000) };
  expect(await hear(page, silence)).toMatchObject({ text: null, rejected: 'noise', from: 0, to: 16_000 });
});

test('names the words that the model lacks, and keeps the list of before', async ({ page }) => {
  await open(page, '/runtime.tar.gz');
  const clip = clips().find(({ said }) => said === 'go back')!;
  await page.evaluate((list) => window.host.expect(list), graphOf(['go back', 'undo']));
  const trade = graphOf(['intake two', 'micrometres five', 'lash', 'torqued', 'shim size', 'valve closed']);
  expect(await page.evaluate((list) => window.host.missingWords(list), trade)).toEqual([
    'closed',
    'lash',
    'micrometres',
    'torqued',
  ]);
  const refused = await page.evaluate((list) => window.host.expect(list), trade).catch(sentence);
  expect(refused).toBe(
    'The Vosk model does not know "closed", "lash", "micrometres", "torqued". ' +
      'Choose another model or use the built-in ear.',
  );
  expect((await hear(page, clip)).text).toBe('go back');
});

test('names the words of the product that the model lacks', async ({ page }, { annotations }) => {
  await open(page, '/runtime.tar.gz');
  const words = everyWord();
  const missing = await page.evaluate((list) => window.host.missingWords(list), graphOf(words));
  expect(missing).toContain('affirm');
  expect(missing).not.toContain('intake');
  annotations.push({
    type: 'missing',
    description: `the model lacks ${missing.length} of the product's ${words.length} words: ${missing.join(', ')}`,
  });
});

test.describe('agrees with our own decoder on the same network and grammar', () => {
  for (const [what, file, ear] of [
    ['stored', 'strict', TESTS_EAR],
    ['the shipped ear, written with 16 bits', 'strict-16', SHIPPED_EAR],
    ['the shipped ear, written with 8 bits', 'strict-8', SHIPPED_EAR],
  ] as const) {
    test(what, async ({ page }, { annotations }) => {
      const grammar = strictGrammar();
      expect(countSentences(grammar)).toBe(123_392);
      expect(await open(page, `/${file}.tar.gz`)).toBe('fixed');
      await page.evaluate((grammar) => window.host.expect(grammar), grammar);
      const model = earModel(ear);
      expect(model.units, 'the grammar stored for Vosk counts on these units').toEqual(
        earModel(TESTS_EAR).units,
      );
      const ours = strictEar(model);
      const different: string[] = [];
      const all = clips();
      for (const clip of all) {
        const theirs = (await hear(page, clip)).text;
        const own = ours(clip.samples);
        if (theirs !== own) different.push(`${clip.name}: Vosk "${theirs}", ours "${own}"`);
      }
      expect(all).toHaveLength(50);
      annotations.push({
        type: 'same text',
        description: `${all.length - different.length} of ${all.length}`,
      });
      expect(different.length, different.join('; ')).toBeLessThanOrEqual(1);
    });
  }
});

test('hears the product’s words by a list with the folder that we write', async ({ page }) => {
  expect(await open(page, '/written.tar.gz')).toBe('list');
  const words = everyWord();
  expect(await page.evaluate((list) => window.host.missingWords(list), graphOf(words))).toEqual([]);
  const known = (said: string) => said.split(' ').every((word) => words.includes(word));
  const list = phrases('trade').filter(known);
  expect(list.length).toBeGreaterThan(20);
  await page.evaluate((list) => window.host.expect(list), graphOf(list));
  const wrong: string[] = [];
  const refused: string[] = [];
  for (const { file, said } of spoken('trade')) {
    const { text } = await hear(page, { name: file, said, samples: sound(file) });
    if (text === null && list.includes(said)) refused.push(file);
    else if (text !== null && text !== said) wrong.push(`${file}: ${text}`);
  }
  expect(wrong).toEqual([]);
  // The library minds no order of words, so a sentence that it gives with a word less is refused.
  expect(refused.length, refused.join('; ')).toBeLessThanOrEqual(2);
});

test('takes a file that the user chose, and leaves nothing behind on the device', async ({ page }) => {
  expect(await open(page, '/runtime.tar.gz', { asFile: true })).toBe('list');
  const kept = await page.evaluate(
    () =>
      new Promise((resolve) => {
        const opening = indexedDB.open('/vosk');
        opening.onsuccess = () => {
          const count = opening.result.transaction('FILE_DATA').objectStore('FILE_DATA').count();
          count.onsuccess = () => resolve(count.result);
        };
      }),
  );
  expect(kept).toBe(0);
});

test('tells of its progress', async ({ page }) => {
  await open(page, '/runtime.tar.gz');
  const progress = await page.evaluate(() => window.host.progress());
  expect(progress!.got).toBeGreaterThan(3_000_000);
});

test('tells plainly why a model does not open, and opens a good one afterwards', async ({ page }) => {
  await page.route('**/broken-off.tar.gz', (route) => route.abort());
  await page.route('**/page.tar.gz', (route) => route.fulfill({ body: '<!doctype html>' }));
  await page.route('**/silent.tar.gz', () => {});
  expect(await told(page, '/missing.tar.gz')).toBe(
    'The Vosk model could not be fetched from /missing.tar.gz: the server says 404. Check the address.',
  );
  expect(await told(page, '/broken-off.tar.gz')).toMatch(/could not be fetched .* Is there a network\?/);
  expect(await told(page, '/page.tar.gz')).toMatch(/^The model is no \.tar\.gz archive\. Choose its folder/);
  expect(await told(page, '/no-graph.tar.gz')).toMatch(/it lacks graph\/HCLr\.fst/);
  expect(await told(page, '/cut.tar.gz')).toMatch(/^The Vosk model cannot be loaded: its files do not fit/);
  expect(await told(page, '/runtime.tar.gz', { timeoutMs: 1 })).toMatch(/was not ready after 0\.001 seconds/);
  // Given up while the server is silent, and while the engine starts.
  expect(await told(page, '/silent.tar.gz', { stopAfter: 50 })).toBe('Stopped.');
  expect(await told(page, '/runtime.tar.gz', { stopAfter: 100 })).toBe('Stopped.');
  expect(await open(page, '/runtime.tar.gz')).toBe('list');
});

test('says what is wrong where a page’s policy forbids its worker to compile', async ({ page }) => {
  const strict = await servePage(
    [join(folder, 'runtime.tar.gz')],
    POLICY.replace("'unsafe-eval'", "'wasm-unsafe-eval'"),
  );
  try {
    await page.goto(strict.address);
    expect(await told(page, '/runtime.tar.gz')).toMatch(/Content Security Policy/);
  } finally {
    await strict.close();
  }
});

test('serves Node through a browser of its own', async () => {
  const vosk = await openVoskInBrowser(join(folder, 'runtime.tar.gz'));
  try {
    const clip = clips().find(({ said }) => said === 'go back')!;
    await vosk.expect(graphOf(['go back', 'undo']));
    expect((await vosk.hear(clip.samples)).text).toBe('go back');
    await expect(vosk.expect(graphOf(['lash']))).rejects.toThrow(/^The Vosk model does not know "lash"\./);
  } finally {
    vosk.close();
  }
  await expect(openVoskInBrowser(join(folder, 'no-graph.tar.gz'))).rejects.toThrow(/^This is no Vosk model/);
});

test('finds the model that was named, or says how to bring one', () => {
  expect(findModel(join(folder, 'runtime.tar.gz'))).toBe(join(folder, 'runtime.tar.gz'));
  expect(findModel(folder), 'a folder is packed').toMatch(/model\.tar\.gz$/);
  expect(() => findModel(join(folder, 'nowhere'))).toThrow('There is no Vosk model at');
});
