// Journeys in a real browser: the system's Chromium, real sound, real storage. One at a time, for two cores.
import { existsSync } from 'node:fs';
import { defineConfig } from '@playwright/test';

const SYSTEM = ['/usr/bin/chromium', '/usr/bin/chromium-browser', '/usr/bin/google-chrome'];
/** Undefined: the browser that Playwright installed for itself (see tools/test.ts). */
export const CHROMIUM = process.env.CHROMIUM ?? SYSTEM.find((path) => existsSync(path));
/** How every browser of the tests and tools is started. */
export const LAUNCH = {
  ...(CHROMIUM ? { executablePath: CHROMIUM } : {}),
  args: [
    '--no-sandbox',
    '--disable-gpu',
    '--disable-quic',
    '--disable-background-networking',
    '--disable-component-update',
    '--disable-sync',
    '--autoplay-policy=no-user-gesture-required',
  ],
};

export default defineConfig({
  testDir: 'tests',
  testMatch: '**/*.spec.ts',
  workers: 1,
  timeout: 120_000,
  reporter: [['list'], ['json', { outputFile: 'test-results/journeys.json' }]],
  use: {
    baseURL: 'http://localhost:4183',
    viewport: { width: 1280, height: 800 },
    permissions: ['microphone'],
    launchOptions: LAUNCH,
  },
  webServer: {
    command: 'npx vite preview --port 4183 --strictPort',
    url: 'http://localhost:4183',
    reuseExistingServer: !process.env.CI,
  },
});
