// The strict ear computes the same in a browser as in Node (src/hearing/network.test.ts): what the trainer's program gave.
import { fileURLToPath } from 'node:url';
import { expect, test } from '@playwright/test';
import { packed, servePage } from '../tools/vosk-host.ts';
import { sound, table } from './hearing-clips.ts';
import type {} from './vosk/host.ts';

const MODEL = fileURLToPath(new URL('../models/ear.safetensors', import.meta.url));
const furthest = (a: readonly number[], b: readonly number[]) =>
  a.reduce((most, x, i) => Math.max(most, Math.abs(x - b[i]!)), 0);

test('features and posteriors of the golden sentence agree in Chromium', async ({ page }) => {
  const server = await servePage([MODEL]);
  try {
    await page.goto(server.address);
    const samples = packed(sound('golden.wav'));
    const { features, posteriors } = await page.evaluate(
      (samples) => window.host.compute('/ear.safetensors', samples),
      samples,
    );
    const golden = { features: table('golden.features.tsv'), posteriors: table('golden.posteriors.tsv') };
    expect([features.length, posteriors.length]).toEqual([golden.features.length, golden.posteriors.length]);
    expect(furthest(features, golden.features)).toBeLessThan(0.01);
    expect(furthest(posteriors, golden.posteriors)).toBeLessThan(0.01);
  } finally {
    await server.close();
  }
});
