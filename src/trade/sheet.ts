// The data sheet of one engine: its shape, and the door through which it comes in. A sheet that contradicts itself is
// refused with the reason, for printed data can be wrong.
import { z } from 'zod';
import { type Clearance, type Torque, toMicrometres, toNewtonMetres } from './units.ts';
import { whyUnreadable } from './unreadable.ts';

export const SHEET_FORMAT = 'lashwright sheet 1';

const text = z.string().trim().min(1).max(400);
const words = z
  .string()
  .regex(/^[a-z]+( [a-z]+)*$/, 'must be lower-case words divided by single spaces, as it is spoken');
const place = z.tuple([z.number(), z.number()]);
const side = z.enum(['intake', 'exhaust']);
const clearance = z.strictObject({ value: z.number().positive(), unit: z.enum(['mm', 'thou']) });
const torque = z.strictObject({ value: z.number().positive(), unit: z.enum(['N·m', 'lbf·in', 'lbf·ft']) });
const busySpan = z.strictObject({
  /** Degrees of crank after the cylinder's firing top dead centre. */
  opens: z.number().min(0).max(720),
  closes: z.number().min(0).max(720),
  margin: z.number().min(10).max(100),
});
const limits = z.strictObject({
  wanted: clearance,
  minus: z.number().nonnegative(),
  plus: z.number().nonnegative(),
  /** The same figure in the other unit, where the source prints both. */
  also: clearance.optional(),
});

const shape = z.strictObject({
  format: z.literal(SHEET_FORMAT),
  id: z.string().regex(/^[a-z0-9-]{3,60}$/, 'must be 3 to 60 small letters, digits and hyphens'),
  title: text,
  /** True for practice data: every screen and record then says so. */
  invented: z.boolean(),
  /** The document that the figures were taken from, with its issue. */
  source: text,
  layout: z.enum(['in-line', 'V', 'opposed', 'radial']),
  /** Places are in the plan seen from above, x to the right and y down, in any one unit. */
  cylinders: z
    .array(z.strictObject({ number: z.int().min(1).max(18), at: place }))
    .min(1)
    .max(18),
  valves: z
    .array(
      z.strictObject({
        cylinder: z.int().min(1).max(18),
        side,
        /** Tells valves of one side of a cylinder apart; null where there is one. */
        mark: z.literal(['front', 'rear', 'left', 'right', 'alpha', 'bravo', null]),
        at: place,
      }),
    )
    .min(1),
  firingOrder: z.array(z.int().min(1).max(18)).min(1).max(18),
  /** Where firing is uneven: degrees for each cylinder of the order, the first 0. */
  firingAngles: z.array(z.number().min(0).lt(720)).optional(),
  rotation: z.strictObject({
    direction: z.enum(['clockwise', 'anticlockwise']),
    seenFrom: text,
    /** Where the turning tool sits, and what a reduction gear does to the direction there. */
    turnedFrom: text,
    reverses: z.boolean(),
    /** Turns at the tool for one turn of the crank. */
    ratio: z.number().positive(),
  }),
  timing: z.strictObject({ exhaust: busySpan, intake: busySpan }).default({
    exhaust: { opens: 130, closes: 370, margin: 10 },
    intake: { opens: 350, closes: 590, margin: 10 },
  }),
  clearance: z.strictObject({
    intake: limits,
    exhaust: limits,
    condition: z.strictObject({
      engine: z.enum(['cold', 'warm']),
      /** °C, both ends allowed. */
      from: z.number().min(-40).max(150),
      to: z.number().min(-40).max(150),
    }),
  }),
  adjuster: z.strictObject({
    kind: z.literal('screw'),
    thread: text,
    /** Millimetres of travel in one turn. */
    pitch: z.number().positive().max(5),
    rockerRatio: z.number().positive().max(5),
    locknut: torque.extend({ also: torque.optional() }),
  }),
  cover: z.strictObject({
    fasteners: z.int().min(1).max(60),
    kind: z.enum(['shoulder', 'plain']),
    sequence: z.array(z.int().min(1)).min(1),
    passes: z.array(torque).min(1).max(4),
  }),
  gasket: z.strictObject({ always: z.enum(['new', 'may be used again']) }),
  sealant: z.strictObject({ what: text, where: text }).nullable(),
  /** `hidden`: lamp and mirror are needed to see the mark. */
  crankMarks: z.strictObject({ where: text, hidden: z.boolean() }),
  firstSide: side,
  /** Whether the round as found may be left out, and whether valves inside their limits may be left as they are. */
  survey: z.enum(['always', 'ask']),
  set: z.enum(['all', 'outside', 'ask']),
  /** Leads, coils, hoses and guards that come off before the cover. */
  clear: z.array(text).min(1),
  /** Things that go in and must come out again, and when they are brought. Fasteners and the turning tool are counted by themselves. */
  counted: z.array(z.strictObject({ what: words, when: z.enum(['start', 'towels']) })).min(1),
  /** Whether a second person must inspect before the job counts as signed. */
  inspection: z.boolean(),
  cautions: z.array(text),
});

export type Sheet = z.output<typeof shape>;
export type Side = z.output<typeof side>;
export type Limits = z.output<typeof limits>;
export type Valve = Sheet['valves'][number];
/** "exhaust-1" or "exhaust-1-front". */
export type ValveId = string & { readonly __valve?: never };

export function valveId(valve: Pick<Valve, 'cylinder' | 'side' | 'mark'>): ValveId {
  return [valve.side, valve.cylinder, valve.mark].filter((part) => part !== null).join('-');
}

/** A sheet, or the sentences that say what is wrong with it and where. */
export type SheetResult = { ok: true; sheet: Sheet } | { ok: false; faults: string[] };

/** @param data what JSON.parse gave, or the text of the file itself */
export function readSheet(data: unknown): SheetResult {
  let value = data;
  if (typeof data === 'string') {
    try {
      value = JSON.parse(data);
    } catch {
      return { ok: false, faults: [whyUnreadable(data)] };
    }
  }
  const parsed = shape.safeParse(value, { error: wrong });
  if (!parsed.success) {
    return {
      ok: false,
      faults: [...firstAtEach(parsed.error.issues)].map(([place, message]) => `${place}: ${message}.`),
    };
  }
  const faults = contradictions(parsed.data);
  return faults.length > 0 ? { ok: false, faults } : { ok: true, sheet: parsed.data };
}

/** One message for each place: what is of the wrong kind is not measured as well. */
function firstAtEach(issues: readonly z.core.$ZodIssue[]): Map<string, string> {
  const first = new Map<string, string>();
  for (const { path, message } of issues) {
    const place = where(path);
    if (!first.has(place)) first.set(place, message);
  }
  return first;
}

/** "valves › no. 3 › side": entries of a list are counted from one. */
function where(path: readonly PropertyKey[]): string {
  const steps = path.map((step) => (typeof step === 'number' ? `no. ${step + 1}` : String(step)));
  return steps.join(' › ') || 'The sheet';
}

const KINDS: Record<string, string> = {
  string: 'text in quotation marks',
  number: 'a number',
  int: 'a whole number',
  boolean: 'true or false',
  array: 'a list in [ ]',
  tuple: 'a list in [ ]',
  object: 'a group of fields in { }',
};

/** What is wrong with one field and what it must be, without zod's own words. */
function wrong(issue: z.core.$ZodRawIssue): string | undefined {
  const found =
    issue.input === undefined ? 'nothing is there' : `found ${JSON.stringify(issue.input).slice(0, 60)}`;
  switch (issue.code) {
    case 'invalid_type':
      return `expected ${KINDS[issue.expected] ?? issue.expected}, ${found}`;
    case 'invalid_value':
      return `expected ${issue.values.map((value) => JSON.stringify(value)).join(' or ')}, ${found}`;
    case 'unrecognized_keys':
      return `unknown field ${issue.keys.map((key) => `"${key}"`).join(', ')}; mend its name or take it out`;
    case 'too_small':
      if (issue.minimum === 1 && issue.origin !== 'number' && issue.origin !== 'int')
        return 'must not be empty';
      return `must be ${issue.inclusive ? 'at least' : 'above'} ${issue.minimum}${measured(issue.origin)}, ${found}`;
    case 'too_big':
      return `must be ${issue.inclusive ? 'at most' : 'below'} ${issue.maximum}${measured(issue.origin)}, ${found}`;
  }
}

function measured(origin: string): string {
  return origin === 'string' ? ' letters long' : origin === 'array' ? ' entries long' : '';
}

function contradictions(sheet: Sheet): string[] {
  return [
    ...aboutCylinders(sheet),
    ...aboutValves(sheet),
    ...aboutFiring(sheet),
    ...aboutFigures(sheet),
    ...aboutCover(sheet),
    ...aboutCounted(sheet),
  ];
}

function aboutCylinders(sheet: Sheet): string[] {
  return repeated(sheet.cylinders.map((cylinder) => cylinder.number)).map(
    (number) => `cylinders: cylinder ${number} is listed twice.`,
  );
}

function aboutValves(sheet: Sheet): string[] {
  const faults = repeated(sheet.valves.map(valveId)).map((id) => `valves: ${id} is listed twice.`);
  const numbers = sheet.cylinders.map((cylinder) => cylinder.number);
  for (const valve of sheet.valves) {
    if (!numbers.includes(valve.cylinder))
      faults.push(`valves: ${valveId(valve)} belongs to no listed cylinder.`);
  }
  const usual = mostCommon(numbers.map((number) => marksOf(sheet, number)));
  for (const number of numbers) {
    if (marksOf(sheet, number) !== usual) {
      faults.push(
        `valves: cylinder ${number} has ${marksOf(sheet, number) || 'none'}, the others have ${usual}; one is missing or too many.`,
      );
    }
  }
  for (const each of ['intake', 'exhaust'] as const) {
    if (!sheet.valves.some((valve) => valve.side === each))
      faults.push(`valves: no ${each} valve is listed.`);
  }
  for (const valve of sheet.valves) {
    const alone =
      sheet.valves.filter((v) => v.cylinder === valve.cylinder && v.side === valve.side).length === 1;
    if (!alone && valve.mark === null)
      faults.push(`valves: ${valveId(valve)} needs a mark, its side has more than one.`);
  }
  return [...new Set(faults)];
}

function marksOf(sheet: Sheet, cylinder: number): string {
  return sheet.valves
    .filter((valve) => valve.cylinder === cylinder)
    .map((valve) => [valve.side, valve.mark].filter(Boolean).join(' '))
    .sort()
    .join(', ');
}

function aboutFiring(sheet: Sheet): string[] {
  const faults: string[] = [];
  const listed = sheet.cylinders.map((cylinder) => cylinder.number).sort((a, b) => a - b);
  const order = [...sheet.firingOrder].sort((a, b) => a - b);
  if (listed.join() !== order.join()) {
    faults.push(
      `firingOrder: ${sheet.firingOrder.join('-')} must name each of the cylinders ${listed.join(', ')} once.`,
    );
  }
  const angles = sheet.firingAngles;
  if (angles) {
    const rising = angles.every((angle, k) => k === 0 || angle > angles[k - 1]!);
    if (angles.length !== sheet.firingOrder.length || angles[0] !== 0 || !rising) {
      faults.push(
        'firingAngles: give one angle for each cylinder of the order, the first 0, each above the last.',
      );
    }
  }
  for (const each of ['intake', 'exhaust'] as const) {
    const { opens, closes, margin } = sheet.timing[each];
    if (closes <= opens) faults.push(`timing › ${each}: closes must come after opens.`);
    if (opens - margin <= 0 || closes + margin >= 720) {
      faults.push(`timing › ${each}: with its margin the valve would be open where its own cylinder fires.`);
    }
  }
  return faults;
}

function aboutFigures(sheet: Sheet): string[] {
  const faults: string[] = [];
  for (const each of ['intake', 'exhaust'] as const) {
    const { wanted, minus, also } = sheet.clearance[each];
    if (!speakable(wanted)) {
      faults.push(
        `clearance › ${each} › wanted: ${wanted.value} ${wanted.unit} cannot be spoken; it must be ${SPEAKABLE[wanted.unit]}.`,
      );
    }
    if (minus >= wanted.value)
      faults.push(`clearance › ${each}: minus must be smaller than the wanted clearance.`);
    if (also?.unit === wanted.unit) faults.push(`clearance › ${each} › also: must be in the other unit.`);
    if (also && !agree(wanted, also, toMicrometres)) {
      faults.push(
        `clearance › ${each}: ${wanted.value} ${wanted.unit} and ${also.value} ${also.unit} are not the same clearance. Look it up again.`,
      );
    }
  }
  const { intake, exhaust, condition } = sheet.clearance;
  if (intake.wanted.unit !== exhaust.wanted.unit)
    faults.push('clearance: intake and exhaust must be in the same unit.');
  if (condition.to < condition.from) faults.push('clearance › condition: to must not be below from.');
  const { locknut, thread, pitch } = sheet.adjuster;
  const printed = pitchIn(thread);
  if (printed !== null && Math.abs(printed - pitch) > 0.005) {
    faults.push(
      `adjuster: the thread ${thread} travels ${printed.toFixed(3)} mm in one turn, not ${pitch} mm. Look it up again.`,
    );
  }
  if (locknut.also?.unit === locknut.unit) faults.push('adjuster › locknut › also: must be in another unit.');
  if (locknut.also && !agree(locknut, locknut.also, toNewtonMetres)) {
    faults.push(
      `adjuster › locknut: ${locknut.value} ${locknut.unit} and ${locknut.also.value} ${locknut.also.unit} are not the same torque. Look it up again.`,
    );
  }
  return faults;
}

const SPEAKABLE = {
  mm: 'in whole hundredths, from 0.01 to 0.99 mm',
  thou: 'in whole or half thou, from 1 to 60',
} as const;

/** Whether there are words for a figure in its own unit (see src/phrases/numbers.ts). */
export function speakable({ value, unit }: Clearance): boolean {
  const steps = unit === 'mm' ? value * 100 : value * 2;
  const whole = Math.round(steps);
  const [from, to] = unit === 'mm' ? [1, 99] : [2, 120];
  return Math.abs(steps - whole) < 1e-6 && whole >= from && whole <= to;
}

/** What the procedure counts of itself. */
const COUNTED_ANYWAY = ['fastener', 'fasteners', 'turning tool', 'turning tools'];

function aboutCounted(sheet: Sheet): string[] {
  const things = sheet.counted.map(({ what }) => what);
  return [
    ...repeated(things).map((what) => `counted: ${what} is listed twice.`),
    ...(sheet.counted.some(({ when }) => when === 'towels')
      ? []
      : ['counted: something must be packed to catch the oil; add { "what": "towels", "when": "towels" }.']),
    ...COUNTED_ANYWAY.filter((what) => things.includes(what)).map(
      (what) => `counted: take out "${what}"; fasteners and the turning tool are counted by themselves.`,
    ),
  ];
}

function aboutCover(sheet: Sheet): string[] {
  const { fasteners, sequence, passes } = sheet.cover;
  const faults: string[] = [];
  const all = Array.from({ length: fasteners }, (_, k) => k + 1);
  if ([...sequence].sort((a, b) => a - b).join() !== all.join()) {
    faults.push(`cover › sequence: must name each of the ${fasteners} fasteners once.`);
  }
  if (passes.some((pass, k) => k > 0 && toNewtonMetres(pass) < toNewtonMetres(passes[k - 1]!))) {
    faults.push('cover › passes: no pass may be looser than the one before it.');
  }
  return faults;
}

/** Millimetres in one turn of a thread written as "M8 × 1" or "5/16-24"; null where it is written otherwise. */
function pitchIn(thread: string): number | null {
  const metric = /^M[\d.]+ ?[×x] ?([\d.]+)$/.exec(thread)?.[1];
  const perInch = /^[\d/]+-(\d+)\b/.exec(thread)?.[1];
  return metric ? Number(metric) : perInch ? 25.4 / Number(perInch) : null;
}

/** Two printed figures agree where one of them is the other one, rounded to the digits it is printed with. */
function agree<T extends Clearance | Torque>(a: T, b: T, toBase: (figure: T) => number): boolean {
  const halfDigit = (figure: T) => toBase({ ...figure, value: 0.5 * 10 ** -decimals(figure) });
  return Math.abs(toBase(a) - toBase(b)) <= Math.max(halfDigit(a), halfDigit(b)) * 1.000001;
}

/** Decimals as printed. Millimetres have at least two, for JSON drops the nought of 0.40. */
function decimals({ value, unit }: Clearance | Torque): number {
  return Math.max((String(value).split('.')[1] ?? '').length, unit === 'mm' ? 2 : 0);
}

function repeated<T>(items: readonly T[]): T[] {
  return [...new Set(items.filter((item, k) => items.indexOf(item) !== k))];
}

function mostCommon(items: readonly string[]): string {
  const times = (item: string) => items.filter((other) => other === item).length;
  return [...items].sort((a, b) => times(b) - times(a))[0] ?? '';
}
