// Who may import whom. The rooms stay apart only as long as this holds.
import { readdirSync, readFileSync } from 'node:fs';
import { posix } from 'node:path';
import { describe, expect, test } from 'vitest';

const ROOMS = ['trade', 'procedure', 'phrases', 'hearing', 'speaking', 'logbook', 'screens'] as const;
/** Every room but the screens, which main alone knows. */
const TYPES = [...ROOMS.filter((room) => room !== 'screens'), 'session', 'kept'];

/** What runs may come from these; types alone may come from those. Each may use itself. */
const MAY: Record<string, { use: readonly string[]; types: readonly string[] }> = {
  trade: { use: [], types: [] },
  procedure: { use: ['trade'], types: ['trade'] },
  phrases: { use: ['trade', 'procedure'], types: ['trade', 'procedure'] },
  hearing: { use: ['models'], types: TYPES },
  speaking: { use: [], types: TYPES },
  logbook: { use: [], types: TYPES },
  /** The page About tells the version. */
  screens: { use: [...TYPES, 'package.json'], types: TYPES },
  /** The two files between the rooms: one drives a session, the other keeps it and brings it back. */
  session: { use: ['trade', 'procedure', 'phrases', 'kept'], types: TYPES },
  kept: { use: ['trade', 'procedure'], types: TYPES },
  main: { use: [...TYPES, 'screens'], types: [...TYPES, 'screens'] },
};

/** The contract between phrases and hearing: what may be said, and how to walk through it. */
const CONTRACT = { file: 'phrases/wordgraph.ts', users: ['hearing'] };

/** A folder of src, a file that lies in src itself without its ending, or a folder beside src. */
const roomOf = (file: string) =>
  file
    .replace(/^\.\.\//, '')
    .split('/')[0]!
    .replace(/\.tsx?$/, '');

interface Import {
  readonly from: string;
  readonly typeOnly: boolean;
}

/** Static, dynamic and worker imports of the project's own files. */
function importsOf(source: string): Import[] {
  const code = source.replace(/\/\*[\s\S]*?\*\//g, '').replace(/^\s*\/\/.*$/gm, '');
  const found = [
    ...code.matchAll(
      /\b(?:import|export)\s+(?<type>type\s)?(?:[\w*{}\s,$]*?\bfrom\s*)?['"](?<from>\.[^'"]*)['"]/g,
    ),
    ...code.matchAll(/\b(?:import|new\s+URL)\s*\(\s*['"](?<from>\.[^'"]*)['"]/g),
  ];
  return found.map(({ groups }) => ({ from: groups!.from!, typeOnly: groups!.type !== undefined }));
}

/** @param file its path below src */
function broken(file: string, source: string): string[] {
  const room = roomOf(file);
  const may = MAY[room] ?? { use: [], types: [] };
  return importsOf(source).flatMap(({ from, typeOnly }) => {
    const target = posix.normalize(posix.join(posix.dirname(file), from));
    const other = roomOf(target);
    if (other === room || may.use.includes(other) || (typeOnly && may.types.includes(other))) return [];
    if (target === CONTRACT.file && CONTRACT.users.includes(room)) return [];
    const rule = may.types.includes(other)
      ? `${room} imports only types from ${other}`
      : `${room} does not import ${other}`;
    return [`src/${file} imports ${from}, but ${rule}.`];
  });
}

const SRC = new URL('../src/', import.meta.url);
const files = readdirSync(SRC, { recursive: true, encoding: 'utf8' })
  .map((file) => file.replaceAll('\\', '/'))
  .filter((file) => /\.tsx?$/.test(file) && !/\.test\.tsx?$/.test(file));

test('the source is there to be read', () => expect(files).toContain('trade/units.ts'));

test.each(files)('src/%s keeps to its room', (file) => {
  expect(broken(file, readFileSync(new URL(file, SRC), 'utf8'))).toEqual([]);
});

describe('an import across a wall is found', () => {
  test.each([
    ['trade/gauge.ts', `import { book } from '../procedure/book.ts';`, 'trade does not import procedure'],
    [
      'trade/gauge.ts',
      `import type { Book } from '../procedure/book.ts';`,
      'trade does not import procedure',
    ],
    [
      'procedure/machine.ts',
      `import type { Phrase } from '../phrases/phrases.ts';`,
      'procedure does not import phrases',
    ],
    ['phrases/say.ts', `import { mouth } from '../speaking/mouth.ts';`, 'phrases does not import speaking'],
    [
      'hearing/vosk.ts',
      `import { valveId } from '../trade/sheet.ts';`,
      'hearing imports only types from trade',
    ],
    [
      'hearing/vosk.ts',
      `import { type Sheet } from '../trade/sheet.ts';`,
      'hearing imports only types from trade',
    ],
    [
      'speaking/mouth.ts',
      `export * from '../phrases/wordgraph.ts';`,
      'speaking imports only types from phrases',
    ],
    [
      'logbook/logbook.ts',
      `const t = await import('../trade/units.ts');`,
      'logbook imports only types from trade',
    ],
    [
      'logbook/logbook.ts',
      `import {\n  a,\n  b,\n} from '../session.ts';`,
      'logbook imports only types from session',
    ],
    [
      'logbook/logbook.ts',
      `new Worker(new URL('../hearing/w.ts', import.meta.url))`,
      'logbook imports only types from hearing',
    ],
    [
      'session.ts',
      `import { openLogbook } from './logbook/logbook.ts';`,
      'session imports only types from logbook',
    ],
    ['session.ts', `import type { View } from './screens/bench.tsx';`, 'session does not import screens'],
    ['kept.ts', `import { writeRecord } from './logbook/record.ts';`, 'kept imports only types from logbook'],
    ['screens/bench.tsx', `import '../main.tsx';`, 'screens does not import main'],
    ['hearing/deep/er.ts', `import { x } from '../../../tools/speak.ts';`, 'hearing does not import tools'],
    ['helpers.ts', `import { x } from './trade/units.ts';`, 'helpers does not import trade'],
  ])('%s: %s', (file, source, rule) => {
    expect(broken(file, source)).toEqual([expect.stringContaining(`, but ${rule}.`)]);
  });

  test.each([
    ['procedure/book.ts', `import { inside } from '../trade/gauge.ts';`],
    ['hearing/strict.ts', `import { outgoing } from '../phrases/wordgraph.ts';`],
    ['logbook/record.ts', `import type { Sheet } from '../trade/sheet.ts';\nimport { z } from 'zod';`],
    ['session.ts', `import type { Logbook } from './logbook/logbook.ts';`],
    ['hearing/ear.ts', `import modelUrl from '../../models/ear.safetensors?url';`],
    ['main.tsx', `import { Bench } from './screens/bench.tsx';`],
    ['screens/bench.tsx', `import { writeBoth } from '../trade/units.ts';`],
    ['trade/units.ts', `// as in import { x } from '../phrases/say.ts'`],
  ])('and one that is allowed is not: %s', (file, source) => expect(broken(file, source)).toEqual([]));
});
