// npm test: finds a browser (or installs one, or says what to install), then runs every test and adds up the results.
// The last line is the sum over all runners: "All tests: N passed, N failed".
import { spawnSync } from 'node:child_process';
import { existsSync, readFileSync, rmSync, statSync } from 'node:fs';
import { chromium } from '@playwright/test';
import { CHROMIUM } from '../playwright.config.ts';

interface Sum {
  passed: number;
  failed: number;
  skipped: number;
}

function run(command: string, ...args: string[]): boolean {
  return spawnSync(command, args, { stdio: 'inherit' }).status === 0;
}

/** A browser that the journeys can use. They are never left out for want of one. */
function findBrowser(): boolean {
  if (CHROMIUM && existsSync(CHROMIUM)) return true;
  if (existsSync(chromium.executablePath())) return true;
  console.log('No Chromium or Chrome was found; installing one for the browser tests.');
  const isDebianRoot = process.getuid?.() === 0 && existsSync('/usr/bin/apt-get');
  const installed = isDebianRoot
    ? run('apt-get', 'update') && run('apt-get', 'install', '-y', '--no-install-recommends', 'chromium')
    : run('npx', 'playwright', 'install', 'chromium');
  if (!installed)
    console.error(
      'The browser tests need Chromium: install it ("apt-get install chromium", or from your system), then run npm test again.',
    );
  return installed;
}

function unitTests(): Sum {
  const file = 'test-results/units.json';
  rmSync(file, { force: true });
  run('npx', 'vitest', 'run', '--reporter=default', '--reporter=json', `--outputFile.json=${file}`);
  if (!existsSync(file)) return { passed: 0, failed: 1, skipped: 0 };
  const report = JSON.parse(readFileSync(file, 'utf8'));
  const broken = report.testResults.filter(
    (each: { status: string; assertionResults: unknown[] }) =>
      each.status === 'failed' && each.assertionResults.length === 0,
  ).length;
  return {
    passed: report.numPassedTests,
    failed: report.numFailedTests + broken,
    skipped: report.numPendingTests,
  };
}

function journeys(): Sum {
  const file = 'test-results/journeys.json';
  rmSync(file, { force: true });
  if (!run('npx', 'vite', 'build', '--logLevel', 'warn')) return { passed: 0, failed: 1, skipped: 0 };
  run('npx', 'playwright', 'test');
  if (!existsSync(file)) return { passed: 0, failed: 1, skipped: 0 };
  const { stats, errors } = JSON.parse(readFileSync(file, 'utf8'));
  return {
    passed: stats.expected,
    failed: stats.unexpected + stats.flaky + errors.length,
    skipped: stats.skipped,
  };
}

/** A browser that was asked for by name and is not there is never silently another one. */
const named = process.env.CHROMIUM;
if (named && !statSync(named, { throwIfNoEntry: false })?.isFile()) {
  console.error(
    `CHROMIUM names "${named}", which is no file: give the path of Chromium, or leave CHROMIUM out.`,
  );
  console.log('All tests: 0 passed, 1 failed');
  process.exit(1);
}

const sums = [unitTests(), findBrowser() ? journeys() : { passed: 0, failed: 1, skipped: 0 }];
const total = sums.reduce((a, b) => ({
  passed: a.passed + b.passed,
  failed: a.failed + b.failed,
  skipped: a.skipped + b.skipped,
}));
if (total.skipped > 0) console.log(`${total.skipped} skipped, each with its reason above.`);
console.log(`All tests: ${total.passed} passed, ${total.failed} failed`);
process.exitCode = total.failed > 0 || total.passed === 0 ? 1 : 0;
