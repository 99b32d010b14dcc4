// That a model's archive is understood, and that each fault of one is told in a sentence that helps.
import { gunzipSync } from 'node:zlib';
import { describe, expect, test } from 'vitest';
import { archive, modelFiles } from '../../tests/vosk/fixtures.ts';
import { packFolder, readArchive } from './vosk-archive.ts';

const runtime = modelFiles('runtime');
// The network's four megabytes tell nothing here.
runtime.set('am/final.mdl', Buffer.from('any'));

function without(...names: string[]): Buffer {
  return archive(new Map([...runtime].filter(([path]) => !names.includes(path))));
}
const read = (content: Buffer | string) => readArchive(new Blob([content as BlobPart]));

test('tells the kind of graph and the words, leaving out the graph’s own symbols', async () => {
  const list = await read(archive(runtime));
  expect(list.graph).toBe('list');
  expect([...list.words].slice(0, 3)).toEqual(['adjust', 'again', 'aligned']);
  expect(list.words.has('[unk]')).toBe(true);
  expect(list.words.size).toBe(101);
  const strict = modelFiles('strict').set('am/final.mdl', Buffer.from('any'));
  const fixed = await read(archive(strict));
  expect(fixed.graph).toBe('fixed');
  expect(fixed.words.size).toBe(97);
});

test.each([
  ['nothing at all', '', /is no \.tar\.gz archive\. Choose its folder, or/],
  ['a page instead of a file', '<!doctype html>', /is no \.tar\.gz archive/],
  ['a .zip', 'PK\x03\x04…', /is a \.zip, which cannot be loaded\. Unpack it\. Choose its folder/],
  ['half an archive', archive(runtime).subarray(0, 5_000), /damaged or cut short\. Fetch it once more/],
  ['no list of words', without('graph/words.txt'), /lacks graph\/words\.txt/],
  ['no graph', without('graph/HCLr.fst', 'graph/Gr.fst'), /lacks graph\/HCLr\.fst, graph\/Gr\.fst/],
  ['no network', without('am/final.mdl'), /lacks am\/final\.mdl/],
  ['no features', without('conf/fbank.conf'), /lacks conf\/mfcc\.conf/],
  ['no folders', archive(runtime, false), /no entries for folders/],
])('%s', async (_, content, sentence) => {
  await expect(read(content)).rejects.toThrow(sentence);
});

describe('a folder', () => {
  const blobs = (top: string) =>
    new Map([...runtime].map(([path, content]) => [top + path, new Blob([content as BlobPart])]));

  test.each(['', 'model/', 'a folder of ours/small one/'])(
    '“%s” is packed into what can be read',
    async (top) => {
      const packed = await packFolder(blobs(top).set(`${'far too long '.repeat(20)}/x`, new Blob(['any'])));
      expect(await readArchive(packed)).toEqual(await read(archive(runtime)));
    },
  );

  test('within a folder comes before its files, as the library wants it', async () => {
    const packed = await packFolder(blobs('m/').set('m/graph/phones/word_boundary.int', new Blob(['1 end'])));
    const tar = gunzipSync(new Uint8Array(await packed.arrayBuffer())).toString('latin1');
    const inOrder = ['m/graph/', 'm/graph/phones/', 'm/graph/phones/word_boundary.int'].map((name) =>
      tar.indexOf(`${name.replace('m/', 'model/')}\0`),
    );
    expect(inOrder[0]).toBeGreaterThan(0);
    expect(inOrder).toEqual(inOrder.toSorted((a, b) => a - b));
  });

  test('without a model is refused', async () => {
    const holiday = new Map([['holiday/program/final.mdl.jpg', new Blob(['any'])]]);
    await expect(packFolder(holiday)).rejects.toThrow(
      'There is no Vosk model in this folder: it lacks am/final.mdl.',
    );
  });
});
