// Every field of a good data sheet made wrong once: the sheet is refused, and a sentence names the place.
import { readFileSync } from 'node:fs';
import { describe, expect, test } from 'vitest';
import { readSheet } from '../src/trade/sheet.ts';

type Json = string | number | boolean | null | Json[] | { [field: string]: Json };
type Path = (string | number)[];

const FILES = ['island-clinic-standby', 'polder-pump-six'] as const;
const textOf = (name: string) =>
  readFileSync(new URL(`../src/trade/sheets/${name}.json`, import.meta.url), 'utf8');

// biome-ignore lint/suspicious/noExplicitAny: a sheet is bent out of its shape here
type Bent = any;
const good = (name: string = FILES[1]): Bent => JSON.parse(textOf(name));

function faults(data: unknown): string[] {
  const result = readSheet(data);
  return result.ok ? [] : result.faults;
}

function leaves(value: Json, path: Path = []): Path[] {
  if (value === null || typeof value !== 'object') return [path];
  return Object.entries(value).flatMap(([key, inner]) =>
    leaves(inner, [...path, Array.isArray(value) ? Number(key) : key]),
  );
}

const parentOf = (sheet: Bent, path: Path) => path.slice(0, -1).reduce((inner, step) => inner[step], sheet);
const written = (path: Path) =>
  path.map((step) => (typeof step === 'number' ? `no. ${step + 1}` : step)).join(' › ');
const wrongFor = (value: Json): Json => (typeof value === 'string' || value === null ? 42 : 'a word');

describe.each(FILES)('the sheet %s', (name) => {
  const paths = leaves(good(name));

  test('is accepted, as data and as the text of its file', () => {
    expect(faults(good(name))).toEqual([]);
    expect(faults(textOf(name))).toEqual([]);
  });

  test.each(paths.map((path) => [written(path), path] as const))(
    '%s of the wrong kind is refused',
    (place, path) => {
      const sheet = good(name);
      const parent = parentOf(sheet, path);
      const last = path.at(-1)!;
      parent[last] = wrongFor(parent[last]);
      expect(faults(sheet)).toContainEqual(
        expect.stringMatching(RegExp(`^${place}: expected .+, found .+\\.$`)),
      );
    },
  );

  const fields = paths.filter((path) => typeof path.at(-1) === 'string');
  test.each(fields.map((path) => [written(path), path] as const))('%s left out is refused', (place, path) => {
    const sheet = good(name);
    delete parentOf(sheet, path)[path.at(-1)!];
    expect(faults(sheet)).toContainEqual(
      expect.stringMatching(RegExp(`^${place}: expected .+, nothing is there\\.$`)),
    );
  });

  test('an unknown field is refused wherever it stands', () => {
    const groups = new Set(fields.map((path) => JSON.stringify(path.slice(0, -1))));
    for (const path of [...groups].map((text): Path => JSON.parse(text))) {
      const sheet = good(name);
      parentOf(sheet, [...path, 'colour']).colour = 'red';
      expect(faults(sheet)).toEqual([
        `${written(path) || 'The sheet'}: unknown field "colour"; mend its name or take it out.`,
      ]);
    }
  });
});

describe('a file that is no data sheet', () => {
  test.each(['', 'title: my engine', '%PDF-1.7', '[1,'])('no group of fields at all: %j', (text) => {
    expect(faults(text)).toEqual([
      'This file is no data sheet: a data sheet is plain text that begins with {. Choose another file.',
    ]);
  });

  test.each<[what: string, from: string | RegExp, to: string, sentence: RegExp]>([
    [
      'cut off',
      /"cover":[\s\S]*/,
      '"cover": {\n',
      /^This file ends too early, in line \d+: .+ Is all of it there\?$/,
    ],
    ['a comma after the last', /\n}\s*$/, ',\n}\n', /^Line \d+ cannot be read from “}” on \(character 1\)/],
    ['a comma left out', '"id": "polder-pump-six",', '"id": "polder-pump-six"', /^Line 4 .+ “"title":” on/],
    ['a comma in a figure', '"ratio": 0.5', '"ratio": 0,5', /^Line \d+ .+ “5/],
    [
      'curly quotation marks',
      '"polder-pump-six"',
      '“polder-pump-six”',
      /^Line 3 .+ ““polder-pump-six”,” on \(character 9\)/,
    ],
  ])('not JSON, %s', (_, from, to, sentence) => {
    const text = textOf(FILES[1]).replace(from, to);
    expect(text).not.toBe(textOf(FILES[1]));
    expect(faults(text)).toEqual([expect.stringMatching(sentence)]);
  });

  test.each([null, 12, [], undefined, true])('not a group of fields: %j', (data) => {
    expect(faults(data)).toEqual([
      expect.stringMatching(/^The sheet: expected a group of fields in \{ \}, /),
    ]);
  });

  test('a sheet of another format', () => {
    expect(faults({ ...good(), format: 'lashwright sheet 2' })).toEqual([
      'format: expected "lashwright sheet 1", found "lashwright sheet 2".',
    ]);
  });
});

test.each(['cylinders', 'valves', 'firingOrder', 'clear', 'counted'])(
  '%s as a text gets one sentence',
  (field) => {
    const text = 'a text longer than eighteen letters';
    expect(faults({ ...good(), [field]: text })).toEqual([
      `${field}: expected a list in [ ], found "${text}".`,
    ]);
  },
);

describe('a figure outside what an engine can have', () => {
  test.each<[string, (sheet: Bent) => void]>([
    ['title: must not be empty.', (sheet) => (sheet.title = '  ')],
    ['title: must be at most 400 letters long', (sheet) => (sheet.title = 'x'.repeat(401))],
    ['id: must be 3 to 60 small letters, digits and hyphens.', (sheet) => (sheet.id = 'My Pump')],
    ['valves: must not be empty.', (sheet) => (sheet.valves = [])],
    [
      'cylinders › no. 3 › number: must be at most 18, found 19.',
      (sheet) => (sheet.cylinders[2].number = 19),
    ],
    ['cylinders › no. 1 › number: expected a whole number', (sheet) => (sheet.cylinders[0].number = 1.5)],
    ['cylinders › no. 1 › at: must be at least 2 entries long', (sheet) => (sheet.cylinders[0].at = [1])],
    ['valves › no. 1 › mark: expected "front" or', (sheet) => (sheet.valves[0].mark = 'top')],
    ['rotation › ratio: must be above 0, found 0.', (sheet) => (sheet.rotation.ratio = 0)],
    [
      'clearance › intake › wanted › value: must be above 0, found -10.',
      (sheet) => (sheet.clearance.intake.wanted.value = -10),
    ],
    [
      'clearance › condition › to: must be at most 150, found 180.',
      (sheet) => (sheet.clearance.condition.to = 180),
    ],
    ['adjuster › pitch: must be at most 5, found 750.', (sheet) => (sheet.adjuster.pitch = 750)],
    ['adjuster › kind: expected "screw", found "shim".', (sheet) => (sheet.adjuster.kind = 'shim')],
    ['counted › no. 1 › what: must be lower-case words', (sheet) => (sheet.counted[0].what = 'Tools')],
    ['firingAngles › no. 2: must be below 720', (sheet) => (sheet.firingAngles = [0, 720])],
    [
      'timing › exhaust › margin: must be at least 10, found 5.',
      (sheet) => (sheet.timing = { exhaust: { opens: 130, closes: 370, margin: 5 } }),
    ],
  ])('%s', (sentence, bend) => {
    const sheet = good();
    bend(sheet);
    expect(faults(sheet)).toContainEqual(expect.stringContaining(sentence));
  });
});

describe('a sheet that contradicts itself', () => {
  const timing = (exhaust: object) => ({ exhaust, intake: { opens: 350, closes: 590, margin: 10 } });

  test.each<[string, (sheet: Bent) => void]>([
    ['cylinders: cylinder 5 is listed twice.', (sheet) => (sheet.cylinders[5].number = 5)],
    ['valves: intake-1 is listed twice.', (sheet) => (sheet.valves[1].side = 'intake')],
    ['valves: cylinder 6 has intake, the others have exhaust, intake;', (sheet) => sheet.valves.pop()],
    ['valves: intake-7 belongs to no listed cylinder.', (sheet) => (sheet.valves[10].cylinder = 7)],
    [
      'valves: no exhaust valve is listed.',
      (sheet) => (sheet.valves = sheet.valves.filter((valve: Bent) => valve.side === 'intake')),
    ],
    [
      'valves: intake-1 needs a mark, its side has more than one.',
      (sheet) => sheet.valves.push({ ...sheet.valves[0], mark: 'rear' }),
    ],
    [
      'firingOrder: 1-5-3-6-2-2 must name each of the cylinders 1, 2, 3, 4, 5, 6 once.',
      (sheet) => (sheet.firingOrder[5] = 2),
    ],
    ['firingOrder: 1-5-3-6-2 must name each', (sheet) => sheet.firingOrder.pop()],
    ['firingAngles: give one angle for each cylinder', (sheet) => (sheet.firingAngles = [0, 120, 240])],
    ['firingAngles: give one angle', (sheet) => (sheet.firingAngles = [10, 120, 240, 360, 480, 600])],
    ['firingAngles: give one angle', (sheet) => (sheet.firingAngles = [0, 240, 120, 360, 480, 600])],
    [
      'timing › exhaust: closes must come after opens.',
      (sheet) => (sheet.timing = timing({ opens: 370, closes: 130, margin: 10 })),
    ],
    [
      'timing › exhaust: with its margin the valve would be open where its own cylinder fires.',
      (sheet) => (sheet.timing = timing({ opens: 50, closes: 370, margin: 50 })),
    ],
    [
      'timing › exhaust: with its margin the valve would be open where its own cylinder fires.',
      (sheet) => (sheet.timing = timing({ opens: 130, closes: 700, margin: 20 })),
    ],
    [
      'clearance › intake: minus must be smaller than the wanted clearance.',
      (sheet) => (sheet.clearance.intake.minus = 10),
    ],
    [
      'clearance › intake: 10 thou and 0.27 mm are not the same clearance. Look it up again.',
      (sheet) => (sheet.clearance.intake.also.value = 0.27),
    ],
    [
      'clearance › intake: 14 thou and 0.4 mm are not the same clearance. Look it up again.',
      (sheet) =>
        Object.assign(sheet.clearance.intake, {
          wanted: { value: 14, unit: 'thou' },
          also: { value: 0.4, unit: 'mm' },
        }),
    ],
    [
      'clearance › intake › also: must be in the other unit.',
      (sheet) => (sheet.clearance.intake.also = { value: 10, unit: 'thou' }),
    ],
    [
      'clearance: intake and exhaust must be in the same unit.',
      (sheet) => (sheet.clearance.exhaust = { wanted: { value: 0.41, unit: 'mm' }, minus: 0.05, plus: 0.05 }),
    ],
    [
      'clearance › condition: to must not be below from.',
      (sheet) => Object.assign(sheet.clearance.condition, { from: 40, to: 0 }),
    ],
    [
      'adjuster › locknut: 130 lbf·in and 147 N·m are not the same torque. Look it up again.',
      (sheet) => (sheet.adjuster.locknut.also.value = 147),
    ],
    [
      'adjuster › locknut › also: must be in another unit.',
      (sheet) => (sheet.adjuster.locknut.also = { value: 130, unit: 'lbf·in' }),
    ],
    [
      'adjuster: the thread M8 × 1.25 travels 1.250 mm in one turn, not 1 mm. Look it up again.',
      (sheet) => Object.assign(sheet.adjuster, { thread: 'M8 × 1.25', pitch: 1 }),
    ],
    [
      'adjuster: the thread 5/16-24 travels 1.058 mm in one turn, not 1.41 mm. Look it up again.',
      (sheet) => (sheet.adjuster.pitch = 1.41),
    ],
    ['cover › sequence: must name each of the 6 fasteners once.', (sheet) => (sheet.cover.sequence[0] = 4)],
    ['cover › sequence: must name each of the 7 fasteners once.', (sheet) => (sheet.cover.fasteners = 7)],
    [
      'cover › passes: no pass may be looser than the one before it.',
      (sheet) => sheet.cover.passes.reverse(),
    ],
    [
      'counted: something must be packed to catch the oil; add { "what": "towels", "when": "towels" }.',
      (sheet) => (sheet.counted = [{ what: 'tools', when: 'start' }]),
    ],
    ['counted: tools is listed twice.', (sheet) => (sheet.counted[1].what = 'tools')],
    ...['fasteners', 'turning tool', 'turning tools'].map((what): [string, (sheet: Bent) => void] => [
      `counted: take out "${what}"; fasteners and the turning tool are counted by themselves.`,
      (sheet) => (sheet.counted[1].what = what),
    ]),
    ...([0.5, 7.25, 60.5] as const).map((value): [string, (sheet: Bent) => void] => [
      `clearance › intake › wanted: ${value} thou cannot be spoken; it must be in whole or half thou, from 1 to 60.`,
      (sheet) => (sheet.clearance.intake = { wanted: { value, unit: 'thou' }, minus: 0, plus: 0 }),
    ]),
    ...([0.125, 1] as const).map((value): [string, (sheet: Bent) => void] => [
      `clearance › exhaust › wanted: ${value} mm cannot be spoken; it must be in whole hundredths, from 0.01 to 0.99 mm.`,
      (sheet) => (sheet.clearance.exhaust = { wanted: { value, unit: 'mm' }, minus: 0, plus: 0 }),
    ]),
  ])('%s', (sentence, bend) => {
    const sheet = good();
    bend(sheet);
    expect(faults(sheet)).toContainEqual(expect.stringContaining(sentence));
  });

  test.each<[string, (sheet: Bent) => void]>([
    [
      'the other unit is a rounding of the first',
      (sheet) => (sheet.clearance.intake.also = { value: 0.254, unit: 'mm' }),
    ],
    [
      'half thou are wanted',
      (sheet) => (sheet.clearance.intake = { wanted: { value: 7.5, unit: 'thou' }, minus: 0.5, plus: 0 }),
    ],
    [
      'hundredths are not exact in binary',
      (sheet) => {
        for (const side of ['intake', 'exhaust'])
          sheet.clearance[side] = { wanted: { value: 0.29, unit: 'mm' }, minus: 0, plus: 0 };
      },
    ],
    ['a thread is written in its own way', (sheet) => (sheet.adjuster.thread = 'as the maker cuts it')],
    ['nothing is to be said about sealant', (sheet) => (sheet.sealant = null)],
    ['uneven firing is given in full', (sheet) => (sheet.firingAngles = [0, 90, 240, 330, 480, 570])],
  ])('but not where %s', (_, bend) => {
    const sheet = good();
    bend(sheet);
    expect(faults(sheet)).toEqual([]);
  });
});
