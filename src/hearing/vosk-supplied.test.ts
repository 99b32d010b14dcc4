// The model that comes with the app, packed or as a folder, is fetched as one archive that can be read.
import { gunzipSync } from 'node:zlib';
import { afterEach, beforeEach, expect, test, vi } from 'vitest';
import { archive, modelFiles } from '../../tests/vosk/fixtures.ts';
import { readArchive } from './vosk-archive.ts';
import { comesWithModel, fetchSupplied } from './vosk-supplied.ts';

const files = modelFiles('runtime').set('am/final.mdl', Buffer.from('any'));
const served = new Map<string, Buffer>([
  ...[...files].map(([path, content]) => [`/assets/vosk/${path}`, content] as const),
  ['/assets/vosk/model.tar.gz', archive(files)] as const,
  ['/assets/vosk/model.tar', gunzipSync(archive(files))] as const,
]);
const WORDS = 101;

beforeEach(() => {
  vi.stubGlobal('fetch', async (address: string) => {
    const content = served.get(address);
    return new Response(content as BodyInit | undefined, { status: content ? 200 : 404 });
  });
});
afterEach(() => vi.unstubAllGlobals());

test.each([
  ['as it is', 'model.tar.gz'],
  ['unpacked on the way', 'model.tar'],
])('a packed one is taken %s', async (_, name) => {
  const model = await fetchSupplied(() => {}, { '../../models/vosk/model.tar.gz': `/assets/vosk/${name}` });
  expect((await readArchive(model)).words.size).toBe(WORDS);
});

test.each(['', 'small one/'])('a folder “models/vosk/%s” is packed, and its progress told', async (top) => {
  const told: number[] = [];
  const model = await fetchSupplied(
    (got) => told.push(got),
    Object.fromEntries(
      [...files.keys()].map((path) => [`../../models/vosk/${top}${path}`, `/assets/vosk/${path}`]),
    ),
  );
  expect((await readArchive(model)).words.size).toBe(WORDS);
  expect(told).toEqual(told.toSorted((a, b) => a - b));
  expect(told.at(-1)).toBe([...files.values()].reduce((sum, { length }) => sum + length, 0));
});

test('where none lies there, none is offered; one that cannot be had is told in a sentence', async () => {
  expect(comesWithModel({})).toBe(false);
  const gone = fetchSupplied(() => {}, { '../../models/vosk/model.tar.gz': '/assets/vosk/gone.tar.gz' });
  await expect(gone).rejects.toThrow(
    'could not be fetched from /assets/vosk/gone.tar.gz: the server says 404.',
  );
});
