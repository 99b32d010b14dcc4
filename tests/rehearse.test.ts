// The rehearsal tool as its user runs it: lines on standard output, faults on standard error, its exit status.
import { spawnSync } from 'node:child_process';
import { mkdtempSync, readFileSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { beforeAll, describe, expect, it } from 'vitest';
import { readRecord } from '../src/logbook/record.ts';
import { synthesise, toWav } from '../tools/speak.ts';

const folder = mkdtempSync(join(tmpdir(), 'rehearse-'));

function rehearse(...args: string[]) {
  const { status, stdout, stderr } = spawnSync('node_modules/.bin/tsx', ['tools/rehearse.ts', ...args], {
    encoding: 'utf8',
    env: { ...process.env, INIT_CWD: folder },
    maxBuffer: 1e8,
  });
  const lines = stdout
    .split('\n')
    .filter((line) => line !== '')
    .map((line) => JSON.parse(line));
  return { status, lines, stderr };
}

beforeAll(async () => {
  for (const words of ['affirm', 'done', 'twelve tools']) {
    writeFileSync(join(folder, `${words}.wav`), toWav(await synthesise(words, { voice: 'rms' })));
  }
  writeFileSync(join(folder, 'broken.wav'), 'no sound');
});

describe('a script of sound files', () => {
  it('is answered line by line, and ends unsigned where it is too short', () => {
    writeFileSync(join(folder, 'short.tsv'), 'affirm.wav\tbegin\ndone.wav\n');
    const { status, lines, stderr } = rehearse('short.tsv');
    expect(status).toBe(1);
    expect(stderr).toBe(
      'Not signed. 0 of 16 valves proved, 2 entries. The record was not saved: --out FILE does that.\n',
    );
    expect(lines.slice(0, 2)).toEqual([
      { file: 'affirm.wav', state: 'identify@-/-', heard: 'affirm', accepted: true, readBack: 'Affirm.' },
      { file: 'done.wav', state: 'cautions@-/-', heard: 'done', accepted: true, readBack: 'Done.' },
    ]);
    expect(lines[2].record.signed).toBe(false);
    expect(lines[2].record.valves).toHaveLength(16);
    expect(lines[2].record.events).toHaveLength(3);
  });

  it('does not take what is not due: tools cannot be counted before the cautions', () => {
    writeFileSync(join(folder, 'early.tsv'), 'affirm.wav\ntwelve tools.wav\n');
    const { lines } = rehearse('early.tsv');
    expect(lines[1]).toMatchObject({ state: 'cautions@-/-', heard: null, accepted: false });
  });

  it('goes on after a broken file, and ends with status 2', () => {
    writeFileSync(join(folder, 'broken.tsv'), 'broken.wav\naffirm.wav\nmissing.wav\n');
    const { status, lines } = rehearse('broken.tsv');
    expect(status).toBe(2);
    expect(lines[0]).toEqual({ file: 'broken.wav', error: 'This is not a WAV file.' });
    expect(lines[1]).toMatchObject({ heard: 'affirm', accepted: true });
    expect(lines[2]).toEqual({ file: 'missing.wav', error: 'there is no such file' });
  });

  it.each([
    ['neither script nor demo', [], 'Give either a script or --demo.'],
    ['a missing script', ['nowhere.tsv'], 'nowhere.tsv cannot be read: there is no such file.'],
    [
      'a data sheet that is none',
      ['--sheet', 'broken.wav', 'short.tsv'],
      'broken.wav is no good data sheet.',
    ],
    ['a voice that is none', ['--demo', '--voice', 'choir'], 'There is no voice "choir".'],
    ['an empty level', ['--demo', '--noise', 'affirm.wav', '--snr', ''], '"" is no number of dB.'],
    ['noise without a level', ['--demo', '--noise', 'affirm.wav'], '--noise and --snr go together.'],
  ])('refuses %s', (_, args, sentence) => {
    const { status, lines, stderr } = rehearse(...args);
    expect(stderr).toContain(sentence);
    expect({ status, lines }).toEqual({ status: 2, lines: [] });
  });
});

describe('a demonstration', () => {
  it('goes from the first caution to the signed record on the inch sheet, every answer spoken', () => {
    const sheet = new URL('../src/trade/sheets/polder-pump-six.json', import.meta.url).pathname;
    const args = ['--demo', '--voice', 'awb', '--sheet', sheet, '--out', 'record.json'];
    const { status, lines, stderr } = rehearse(...args);
    expect(status).toBe(0);
    expect(stderr).toMatch(
      /^Signed by Mechanic and Inspector\. 12 of 12 valves proved, \d+ entries\. The record is in record\.json\.$/m,
    );
    const { record } = lines.at(-1);
    expect(record.signed).toBe(true);
    expect(record.valves.map((valve: { phase: string }) => valve.phase)).toEqual(Array(12).fill('proved'));
    const read = readRecord(readFileSync(join(folder, 'record.json'), 'utf8'));
    expect(read.ok && read.record.signed).toEqual({ mechanic: 'Mechanic', inspector: 'Inspector' });
  }, 600_000);
});
