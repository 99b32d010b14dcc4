// Unit tests stand beside their file; published checks and fault tests lie in tests/. Journeys in a browser are Playwright's.
import { defineConfig } from 'vitest/config';

export default defineConfig({
  test: {
    include: ['src/**/*.test.ts', 'tests/**/*.test.ts', 'tools/**/*.test.ts'],
    environment: 'node',
    testTimeout: 30_000,
  },
});
