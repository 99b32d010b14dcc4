// What the command-line tools share: where files are looked for, how they are read, and how a refusal is told.
import { readFileSync } from 'node:fs';
import { resolve } from 'node:path';
import { demoSheets } from '../src/trade/demos.ts';
import { readSheet, type Sheet } from '../src/trade/sheet.ts';

/** A fault in what the user gave: its sentence goes to standard error, and the exit status is 2. */
export class Refusal extends Error {}

/** Files are named from where npm was called, not from where it runs the script. */
export const locate = (path: string) => resolve(process.env.INIT_CWD ?? process.cwd(), path);

export function readText(path: string): string {
  try {
    return readFileSync(locate(path), 'utf8').replace(/^\uFEFF/, '');
  } catch (error) {
    throw new Refusal(`${path} cannot be read: ${reasonOf(error)}.`);
  }
}

/** The sound files named in the first column. */
export function readManifest(path: string): string[] {
  return readText(path)
    .split('\n')
    .map((line) => line.replace(/\r$/, '').split('\t')[0]!)
    .filter((file) => file.trim() !== '');
}

/** The data sheet of a file; without one, the first built-in engine. */
export function sheetFrom(path: string | undefined): Sheet {
  if (path === undefined) return demoSheets[0]!;
  const result = readSheet(readText(path));
  if (!result.ok) throw new Refusal(`${path} is no good data sheet.\n${result.faults.join('\n')}`);
  return result.sheet;
}

/** Why the system refused a file, in words; the message of any other error. */
export function reasonOf(error: unknown): string {
  const code = error instanceof Error && 'code' in error ? error.code : undefined;
  if (code === 'ENOENT') return 'there is no such file';
  if (code === 'EISDIR') return 'it is a folder';
  if (code === 'EACCES') return 'reading it is not allowed';
  return sentenceOf(error);
}

export const sentenceOf = (error: unknown) => (error instanceof Error ? error.message : String(error));

/** One JSON line on standard output. */
export function print(line: unknown): void {
  process.stdout.write(`${JSON.stringify(line)}\n`);
}

/** Runs a tool: its number is the exit status. A refusal or any other error is told on standard error: status 2. */
export async function run(main: () => Promise<number>): Promise<void> {
  // Whoever reads the lines may stop reading: then there is nothing more to do.
  process.stdout.on('error', (error: NodeJS.ErrnoException) => process.exit(error.code === 'EPIPE' ? 0 : 2));
  process.on('uncaughtException', (error) => {
    console.error(sentenceOf(error));
    process.exit(2);
  });
  try {
    process.exitCode = await main();
  } catch (error) {
    console.error(sentenceOf(error));
    process.exitCode = 2;
  }
}
