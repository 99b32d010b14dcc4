// How the tools end where something is wrong: with a sentence, and a status that means nothing else.
import { spawnSync } from 'node:child_process';
import { expect, it } from 'vitest';

function node(args: string[], env: Record<string, string> = {}) {
  const { status, stdout, stderr } = spawnSync(process.execPath, ['--import', 'tsx', ...args], {
    encoding: 'utf8',
    env: { ...process.env, ...env },
  });
  return { status, stdout, stderr };
}

it.each([
  ['in its own course', "throw new Error('Something odd.')"],
  [
    'aside',
    "setTimeout(() => { throw new Error('Something odd.') }); await new Promise((r) => setTimeout(r, 1000))",
  ],
])('a tool that fails %s says so and ends with status 2', (_, body) => {
  const program = `import { run } from './tools/files.ts'; await run(async () => { ${body}; return 1; });`;
  expect(node(['--input-type=module', '-e', program])).toEqual({
    status: 2,
    stdout: '',
    stderr: 'Something odd.\n',
  });
});

it('npm test fails at once where CHROMIUM names no file', () => {
  const { status, stdout, stderr } = node(['tools/test.ts'], { CHROMIUM: '/nowhere/chromium' });
  expect(stderr).toBe(
    'CHROMIUM names "/nowhere/chromium", which is no file: give the path of Chromium, or leave CHROMIUM out.\n',
  );
  expect(stdout).toBe('All tests: 0 passed, 1 failed\n');
  expect(status).toBe(1);
});

it.each([
  ['/some/browser', '"/some/browser"'],
  ['', 'undefined'],
])('the browser of tests and tools is that of CHROMIUM="%s", or Playwright\'s own', (CHROMIUM, path) => {
  const program = `import { LAUNCH } from './playwright.config.ts'; console.log(JSON.stringify(LAUNCH.executablePath));`;
  expect(node(['--input-type=module', '-e', program], { CHROMIUM }).stdout).toBe(`${path}\n`);
});
