// Festival's voices for the benchmark of phrases, where it is installed (Debian: festival, festvox-us-slt-hts,
// festvox-kallpc16k, festvox-kdlpc16k). They are no part of the app.
import { execFileSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { readWav } from '../sound.ts';

/** How festival says what its dictionary lacks or says otherwise. */
const SAID_SO = [
  '"thou" nil (((th aw) 1))',
  '"torqued" nil (((t ao r k t) 1))',
  '"leads" nil (((l iy d z) 1))',
  '"millimetres" nil (((m ih l) 1) ((ax) 0) ((m iy) 1) ((t er z) 0))',
];

/** The voices of this machine; none where festival is not installed. */
export function festivalVoices(): string[] {
  try {
    const out = execFileSync('festival', ['-b', '(print (voice.list))'], {
      encoding: 'utf8',
      stdio: ['ignore', 'pipe', 'ignore'],
    });
    return out.match(/\w+/g) ?? [];
  } catch {
    return [];
  }
}

/** Says all sentences in one go, for festival takes long to start.  @returns each as mono samples at 16 kHz */
export function sayWithFestival(
  voice: string,
  sentences: readonly string[],
): (sentence: string) => Float32Array {
  const folder = mkdtempSync(join(tmpdir(), 'lashwright-festival-'));
  process.on('exit', () => rmSync(folder, { recursive: true, force: true }));
  const file = (sentence: string) => join(folder, `${sentence.replaceAll(' ', '-')}.wav`);
  const script = [
    `(voice_${voice})`,
    ...SAID_SO.map((entry) => `(lex.add.entry '(${entry}))`),
    ...sentences.map(
      (sentence) => `(utt.save.wave (utt.synth (Utterance Text "${sentence}")) "${file(sentence)}" 'riff)`,
    ),
  ];
  writeFileSync(join(folder, 'say.scm'), script.join('\n'));
  execFileSync('festival', ['-b', join(folder, 'say.scm')], { stdio: 'ignore' });
  return (sentence) => readWav(readFileSync(file(sentence)));
}
