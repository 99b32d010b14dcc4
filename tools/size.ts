// How much of the built app is its own code, as it is sent (gzip).
import { readdirSync, readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { gzipSync } from 'node:zlib';

export const DIST = fileURLToPath(new URL('../dist/', import.meta.url));
/** The workers of ear and voice hold these engines' code; all of vosk is an engine. */
const ENGINE = /\/(ear\.worker|flite\.worker|vosk)[^/]*\.js$|\/assets\/vosk\//;

/** Bytes of pages, scripts and styles without the engines. */
export function appSize(): number {
  return readdirSync(DIST, { recursive: true, encoding: 'utf8' })
    .map((file) => `/${file.replaceAll('\\', '/')}`)
    .filter((file) => /\.(html|js|css)$/.test(file) && !ENGINE.test(file))
    .reduce((sum, file) => sum + gzipSync(readFileSync(DIST + file)).length, 0);
}
