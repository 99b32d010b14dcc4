// The built app stays small beside its engines, and only who chooses vosk has vosk's library on the device.
import { existsSync, readFileSync } from 'node:fs';
import { expect, test } from '@playwright/test';
import { appSize, DIST } from '../tools/size.ts';

test('the app’s own code is at most 120 kB', () => {
  expect(appSize()).toBeGreaterThan(50_000);
  expect(appSize()).toBeLessThanOrEqual(120_000);
});

test('the service worker keeps for everybody what the app needs, without the library and models of vosk', () => {
  const worker = readFileSync(`${DIST}sw.js`, 'utf8');
  const kept = [...worker.matchAll(/url:"([^"]+)"/g)].map(([, address]) => address!);
  expect(kept.filter((address) => !existsSync(DIST + address))).toEqual([]);
  for (const engine of [/\/ear-.*\.safetensors$/, /\/flite-.*\.wasm$/]) {
    expect(kept).toContainEqual(expect.stringMatching(engine));
  }
  expect(kept.filter((address) => address.startsWith('assets/vosk/'))).toEqual([]);
  // What of vosk is there for all is its page and our own code.
  const vosk = kept.filter((address) => address.includes('vosk'));
  expect(vosk.reduce((sum, address) => sum + readFileSync(DIST + address).length, 0)).toBeLessThan(20_000);
});
