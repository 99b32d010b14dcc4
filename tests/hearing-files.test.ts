// The tool `hear` as it is called: files in, one line of JSON for each out, faults said in words.
import { spawnSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterAll, describe, expect, it } from 'vitest';

const ROOT = fileURLToPath(new URL('..', import.meta.url));
const DATA = join(ROOT, 'tests/data/hearing');
const folder = mkdtempSync(join(tmpdir(), 'hear-'));
afterAll(() => rmSync(folder, { recursive: true }));

/** Runs the tool as from a folder. */
function hear(args: string[], from = folder) {
  const { status, stdout, stderr } = spawnSync(
    process.execPath,
    ['--import', 'tsx', 'tools/hear.ts', ...args],
    {
      cwd: ROOT,
      env: { ...process.env, INIT_CWD: from },
      encoding: 'utf8',
    },
  );
  return {
    status,
    stderr,
    lines: stdout
      .split('\n')
      .filter(Boolean)
      .map((line) => JSON.parse(line)),
  };
}

function file(name: string, content: string | Uint8Array): string {
  writeFileSync(join(folder, name), content);
  return name;
}

const list = file('list.txt', readFileSync(join(DATA, 'trade.txt'), 'utf8'));

describe('hear', () => {
  it('says for each file what was said, in order', () => {
    file('affirm.wav', readFileSync(join(DATA, 'trade/affirm.wav')));
    const other = join(DATA, 'trade/other-1.wav');
    const manifest = file('good.tsv', `affirm.wav\tany\tcolumns\r\n\n${other}\n`);
    const { status, lines } = hear(['--phrases', list, manifest]);
    expect(lines).toEqual([
      {
        file: 'affirm.wav',
        heard: 'affirm',
        confidence: expect.any(Number),
        rejected: null,
        ms: expect.any(Number),
      },
      {
        file: other,
        heard: null,
        confidence: expect.any(Number),
        rejected: 'unknown',
        ms: expect.any(Number),
      },
    ]);
    for (const { confidence } of lines) {
      expect(confidence).toBeGreaterThanOrEqual(0);
      expect(confidence).toBeLessThanOrEqual(1);
    }
    expect(status).toBe(0);
  });

  it('gives back a phrase as it was written, whatever its spaces, and the first of equal ones', () => {
    file('stop.wav', readFileSync(join(DATA, 'trade/stop.wav')));
    file('spaces.txt', '  stop \nstop\nsay  again\nad-hoc a.m.\n');
    const { status, lines } = hear(['--phrases', 'spaces.txt', file('spaces.tsv', 'stop.wav\n')]);
    expect(lines).toEqual([expect.objectContaining({ file: 'stop.wav', heard: '  stop ' })]);
    expect(status).toBe(0);
  });

  it('goes on after bad files and says so at the end', () => {
    const good = readFileSync(join(DATA, 'trade/stop.wav'));
    const manifest = file(
      'bad.tsv',
      [
        file('text.wav', 'hello'),
        file('empty.wav', ''),
        file('cut.wav', good.subarray(0, 5000)),
        'none.wav',
        '.',
        file('stop.wav', good),
      ].join('\n'),
    );
    const { status, lines } = hear(['--phrases', list, manifest]);
    expect(lines).toEqual([
      { file: 'text.wav', error: 'This is not a WAV file.' },
      { file: 'empty.wav', error: 'The file is empty.' },
      { file: 'cut.wav', error: 'The WAV file is cut short.' },
      { file: 'none.wav', error: 'The file cannot be read: there is no such file.' },
      { file: '.', error: 'The file cannot be read: it is a folder.' },
      expect.objectContaining({ file: 'stop.wav', heard: 'stop' }),
    ]);
    expect(status).toBe(2);
  });

  it.each([
    [
      'a word without pronunciation',
      ['--phrases', file('a.txt', 'affirm\n\nset qwxz\n'), 'm.tsv'],
      'a.txt, line 3: no pronunciation is known for "qwxz".',
    ],
    [
      'upper case',
      ['--phrases', file('b.txt', 'Affirm\n'), 'm.tsv'],
      'b.txt, line 1: "Affirm" must be lower-case words',
    ],
    ['figures', ['--phrases', file('c.txt', 'affirm\n7 thou\n'), 'm.tsv'], 'c.txt, line 2: "7 thou" must be'],
    ['a tab', ['--phrases', file('t.txt', 'say\tagain\n'), 'm.tsv'], 't.txt, line 1: "say\tagain" must be'],
    ['an empty list', ['--phrases', file('d.txt', '\n \n'), 'm.tsv'], 'd.txt holds no phrases.'],
    ['a missing list', ['--phrases', 'none.txt', 'm.tsv'], 'none.txt cannot be read: there is no such file.'],
    [
      'a missing manifest',
      ['--phrases', list, 'none.tsv'],
      'none.tsv cannot be read: there is no such file.',
    ],
    ['no list', ['m.tsv'], 'Which phrases? Give a list, or a state.'],
    ['no manifest', ['--phrases', list], 'Which sound files? Give a manifest.'],
    ['an unknown option', ['--phrase', list, 'm.tsv'], "Unknown option '--phrase'"],
    [
      'an unknown engine',
      ['--engine', 'best', '--phrases', list, file('m.tsv', '')],
      'There is no engine "best"',
    ],
  ])('refuses %s', (_, args, message) => {
    const { status, stderr, lines } = hear(args);
    expect(stderr).toContain(message);
    expect(stderr).not.toContain('    at ');
    expect({ status, lines }).toEqual({ status: 2, lines: [] });
  });
});
