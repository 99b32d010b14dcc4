// Vosk for Node: its engine runs in browsers only, so a headless Chromium holds a page with it and nothing else.
// Used by `npm run hear -- --engine vosk` and by the tests of the engine; the app itself needs none of this.
import { execFileSync } from 'node:child_process';
import { createReadStream, existsSync, mkdtempSync, readdirSync, rmSync, statSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { basename, dirname, join, resolve } from 'node:path';
import { fileURLToPath } from 'node:url';
import { chromium } from '@playwright/test';
import { build, preview } from 'vite';
import { LAUNCH } from '../playwright.config.ts';
import type { Recogniser } from '../src/hearing/recogniser.ts';
import type {} from '../tests/vosk/host.ts';

const PAGE = fileURLToPath(new URL('../tests/vosk/', import.meta.url));
const MODELS = fileURLToPath(new URL('../models/vosk/', import.meta.url));
/** All that Vosk needs, beyond the page's own files. A worker made from a blob obeys its page's policy. */
export const POLICY = [
  "default-src 'self'",
  "script-src 'self' 'unsafe-eval'",
  'worker-src blob:',
  "connect-src 'self' blob:",
].join('; ');

/** Where the page finds a model that is served beside it. */
function addressOf(model: string): string {
  return `/${encodeURIComponent(basename(model))}`;
}

/** Samples as the page takes them. */
export function packed(samples: Float32Array): string {
  return Buffer.from(samples.buffer, samples.byteOffset, samples.byteLength).toString('base64');
}

/**
 * Builds the page and serves it under POLICY.
 * @param models files to be served beside it, each under its own name.
 */
export async function servePage(
  models: readonly string[],
  policy = POLICY,
): Promise<{ address: string; close: () => Promise<void> }> {
  const outDir = mkdtempSync(join(tmpdir(), 'lashwright-vosk-'));
  const common = { root: PAGE, configFile: false, logLevel: 'error' } as const;
  await build({
    ...common,
    build: {
      outDir,
      emptyOutDir: true,
      target: 'es2022',
      rolldownOptions: { input: join(PAGE, 'host.html') },
    },
  });
  const server = await preview({
    ...common,
    build: { outDir },
    preview: { host: '127.0.0.1', port: 0, headers: { 'Content-Security-Policy': policy } },
    appType: 'mpa',
    plugins: [
      {
        name: 'models',
        configurePreviewServer({ middlewares }) {
          for (const model of models) {
            middlewares.use(addressOf(model), (_, response) => createReadStream(model).pipe(response));
          }
        },
      },
    ],
  });
  return {
    address: new URL('host.html', server.resolvedUrls!.local[0]).href,
    async close() {
      await server.close();
      rmSync(outDir, { recursive: true });
    },
  };
}

/**
 * The archive of the model to use: the file or folder named, or the one in models/vosk/. A folder is packed first.
 * @throws Error saying how to bring one.
 */
export function findModel(named = process.env.VOSK_MODEL): string {
  if (named) {
    const kind = statSync(named, { throwIfNoEntry: false });
    if (kind?.isFile()) return named;
    if (kind?.isDirectory()) return packFolder(named);
    throw new Error(`There is no Vosk model at ${named}.`);
  }
  if (existsSync(join(MODELS, 'am'))) return packFolder(MODELS);
  const found = existsSync(MODELS)
    ? readdirSync(MODELS, { withFileTypes: true }).filter(
        (file) => file.isDirectory() || file.name.endsWith('.tar.gz'),
      )
    : [];
  if (found.length === 1) return findModel(join(MODELS, found[0]!.name));
  throw new Error(
    `${found.length === 0 ? 'There is no Vosk model' : 'There are several Vosk models'} in models/vosk/. ` +
      'Put one there, a folder or a .tar.gz of it, or name one with --model.',
  );
}

function packFolder(folder: string): string {
  const archive = join(mkdtempSync(join(tmpdir(), 'lashwright-model-')), 'model.tar.gz');
  const path = resolve(folder);
  execFileSync('tar', ['czf', archive, '-C', dirname(path), basename(path)]);
  return archive;
}

/** @throws Error with a clear sentence where the model, Chromium or the engine fails. */
export async function openVoskInBrowser(modelPath: string): Promise<Recogniser> {
  const server = await servePage([modelPath]);
  const browser = await chromium.launch(LAUNCH).catch(async (error) => {
    await server.close();
    throw new Error('Vosk needs Chromium: install it, or give its path in CHROMIUM.', { cause: error });
  });
  const close = async () => {
    await browser.close();
    await server.close();
  };
  try {
    const page = await browser.newPage();
    await page.goto(server.address);
    await page.evaluate((model) => window.host.open(model), addressOf(modelPath));
    const plainly = (error: unknown) => {
      throw new Error(sentence(error));
    };
    return {
      expect: (graph) => page.evaluate((graph) => window.host.expect(graph), graph).catch(plainly),
      hear: (utterance) =>
        page.evaluate((samples) => window.host.hear(samples), packed(utterance)).catch(plainly),
      close: () => void close(),
    };
  } catch (error) {
    await close();
    throw new Error(sentence(error));
  }
}

/** What the page says is wrong, without Playwright's additions. */
export function sentence(error: unknown): string {
  return String(error)
    .replace(/^.*?page\.evaluate: Error: /, '')
    .replace(/\n.*/s, '');
}
