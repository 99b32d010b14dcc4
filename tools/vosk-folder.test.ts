// What the written folder holds; that Vosk hears with it is shown in a browser (tests/vosk).
import { spawnSync } from 'node:child_process';
import { existsSync, mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, expect, test } from 'vitest';
import { readModel } from '../src/hearing/network.ts';
import { fullLexicon } from './lexicon.ts';
import { voskFolder, writeFolder } from './vosk-folder.ts';
import { everyWord } from './words.ts';

const stored = (path: string) => readFileSync(new URL(`../tests/data/vosk/${path}`, import.meta.url));
const model = readModel(new Uint8Array(stored('ear.safetensors')).buffer);
const files = voskFolder(model, everyWord(), fullLexicon());
const folder = mkdtempSync(join(tmpdir(), 'lashwright-folder-'));
afterAll(() => rmSync(folder, { recursive: true }));

test('is a whole model', () => {
  expect([...files.keys()].sort()).toEqual([
    'am/final.mdl',
    'conf/fbank.conf',
    'conf/model.conf',
    'graph/Gr.fst',
    'graph/HCLr.fst',
    'graph/disambig_tid.int',
    'graph/words.txt',
  ]);
  const words = files.get('graph/words.txt')!.toString().trim().split('\n');
  expect(words.map((line) => line.split(' ')[0])).toEqual(['<eps>', ...everyWord(), '[unk]']);
  expect(words.map((line) => Number(line.split(' ')[1]))).toEqual(words.map((_, i) => i));
});

test('has the layers, blocks and options of a model that is known to be good', () => {
  const nodes = (file: Buffer) => /(?<=<Nnet3> \n)[^<]*(?=<NumComponents>)/.exec(file.toString('latin1'))![0];
  expect(nodes(files.get('am/final.mdl')!)).toBe(nodes(stored('model/am/final.mdl')));
  expect(files.get('am/final.mdl')!.length).toBe(stored('model/am/final.mdl').length);
  for (const name of ['conf/fbank.conf', 'conf/model.conf']) {
    const plain = (text: string) => text.replaceAll(/\.0$/gm, '');
    expect(files.get(name)!.toString()).toBe(plain(stored(`model/${name}`).toString()));
  }
});

test('follows the shape of whatever ear it is made of', () => {
  const [block] = model.blocks;
  const small = { ...model, blocks: [{ ...block!, offsets: [-6, -3, 0] }], past: 6, future: 0 };
  const network = voskFolder(small, [], new Map()).get('am/final.mdl')!.toString('latin1');
  expect(network).toContain('input=Append(Offset(l0, -18), Offset(l0, -9), l0)\n');
  expect(network).not.toContain('name=l1 ');
});

test('halves the network with 8 bits', () => {
  const bytes = (bits: 8 | 16) => voskFolder(model, [], new Map(), bits).get('am/final.mdl')!.length;
  expect(bytes(8) / bytes(16)).toBeLessThan(0.55);
});

test('names what cannot be said', () => {
  const said = (phones: string) => () => voskFolder(model, ['lash'], new Map([['lash', [phones]]]));
  expect(() => voskFolder(model, ['lash'], new Map())).toThrow('No pronunciation is known for "lash".');
  expect(said('L AE XX')).toThrow('The pronunciation of "lash" has "XX", which the model does not know.');
  expect(said('blank')).toThrow('has "blank"');
});

test('is written over one of its own, and never into another model', () => {
  const mine = join(folder, 'mine');
  writeFolder(mine, files);
  writeFolder(mine, new Map(files).set('graph/words.txt', Buffer.from('<eps> 0\n')));
  expect(readFileSync(join(mine, 'graph/words.txt'), 'utf8')).toBe('<eps> 0\n');
  mkdirSync(join(mine, 'ivector'));
  writeFileSync(join(mine, 'ivector/final.dubm'), 'any');
  expect(() => writeFolder(mine, files)).toThrow(/ivector.final\.dubm is of another model\. Move it away/);
  expect(() => writeFolder(join(mine, 'graph/words.txt'), files)).toThrow(/words\.txt cannot be written: /);
});

test.each([
  [['--bits', '4'], 'Weights have 8 bits or 16.'],
  [['--ear', 'nowhere'], 'nowhere cannot be read: there is no such file.'],
  [['--ear', 'package.json'], 'The model file cannot be used: it is no safetensors file, or cut short.'],
])('the tool refuses %j', (args, sentence) => {
  const out = join(folder, 'none');
  const tool = ['--import', 'tsx', 'tools/vosk-folder.ts', '--out', out, ...args];
  const { status, stderr } = spawnSync(process.execPath, tool, { encoding: 'utf8' });
  expect(stderr).toContain(sentence);
  expect(status).toBe(2);
  expect(existsSync(out)).toBe(false);
});
