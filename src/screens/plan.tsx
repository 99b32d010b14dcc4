// The head seen from above, drawn from the places on the sheet. Intake valves are squares and exhaust valves diamonds;
// how far each has come shows in its fill, its word and its colour.
import { type Book, dueStation, dueValve, type ValveRecord } from '../procedure/book.ts';
import { type Sheet, type Valve, valveId } from '../trade/sheet.ts';
import { figureOf, STATE_WORDS, stateOf, valveWords } from './words.ts';

interface Measures {
  readonly box: string;
  /** From the middle of a valve to its corner. */
  readonly reach: number;
  readonly bore: number;
  readonly text: number;
}

/** Everything is sized by how near the valves and the cylinders are to each other. */
function measure(sheet: Sheet, labelled: boolean): Measures {
  const valves = nearest(sheet.valves.map((valve) => valve.at));
  const cylinders = nearest(sheet.cylinders.map((cylinder) => cylinder.at));
  const furthest = Math.max(...sheet.valves.map((valve) => apart(valve.at, boreOf(sheet, valve))));
  const gap = Math.min(valves, furthest * 1.6);
  const reach = gap * 0.3;
  const text = gap * 0.23;
  const bore = Math.min(cylinders * 0.48, furthest + reach * 0.6);
  const around = [...sheet.cylinders, ...sheet.valves].map((part) => part.at);
  const [xs, ys] = [around.map(([x]) => x), around.map(([, y]) => y)];
  const sideways = Math.max(bore, reach) + 4;
  const upright = labelled ? reach + text * 4.3 : bore;
  const [left, top] = [Math.min(...xs) - sideways, Math.min(...ys) - upright];
  const [width, height] = [Math.max(...xs) + sideways - left, Math.max(...ys) + upright - top];
  return { box: [left, top, width, height].join(' '), reach, bore, text };
}

const apart = (a: readonly number[], b: readonly number[]) => Math.hypot(a[0]! - b[0]!, a[1]! - b[1]!);
function nearest(places: readonly (readonly number[])[]): number {
  const gaps = places.flatMap((a, k) => places.slice(k + 1).map((b) => apart(a, b)));
  return gaps.length > 0 ? Math.min(...gaps) : 100;
}
const boreOf = (sheet: Sheet, valve: Valve) =>
  sheet.cylinders.find((cylinder) => cylinder.number === valve.cylinder)!.at;

/** A small picture to know the engine by. */
export function SmallPlan({ sheet }: { sheet: Sheet }) {
  const { box, reach, bore } = measure(sheet, false);
  return (
    <svg class="plan small" viewBox={box} aria-hidden="true">
      <Cylinders sheet={sheet} bore={bore} />
      {sheet.valves.map((valve) => (
        <g key={valveId(valve)} transform={`translate(${valve.at.join(' ')})`}>
          <Outline valve={valve} reach={reach} />
        </g>
      ))}
    </svg>
  );
}

/** The cylinder that the present step is about. */
export function cylinderDue(book: Book): number | undefined {
  return dueValve(book)?.valve.cylinder ?? (book.step === 'turn' ? dueStation(book).cylinder : undefined);
}

export function Plan({ book }: { book: Book }) {
  const { sheet } = book;
  const measures = measure(sheet, true);
  const due = dueValve(book);
  return (
    <svg class="plan" viewBox={measures.box} role="img" aria-label={inWords(book, due)}>
      <Fills size={measures.reach} />
      <Cylinders sheet={sheet} bore={measures.bore} due={cylinderDue(book)} />
      {Object.values(book.valves).map((record) => (
        <ValvePlace
          key={record.id}
          record={record}
          isDue={record.id === due?.id}
          isUp={record.valve.at[1] <= boreOf(sheet, record.valve)[1]}
          {...measures}
        />
      ))}
    </svg>
  );
}

function inWords(book: Book, due: ValveRecord | null): string {
  const each = Object.values(book.valves).map((record) =>
    `${valveWords(record.valve)} ${STATE_WORDS[stateOf(record)]} ${figureOf(record)}`.trimEnd(),
  );
  return `Plan of the head. ${due ? `Due: ${valveWords(due.valve)}. ` : ''}${each.join('; ')}.`;
}

function Cylinders({ sheet, bore, due }: { sheet: Sheet; bore: number; due?: number | undefined }) {
  return sheet.cylinders.map(({ number, at: [x, y] }) => (
    <g key={number} class={number === due ? 'cylinder due' : 'cylinder'}>
      <circle cx={x} cy={y} r={bore} />
      <text x={x} y={y} font-size={bore * 0.46} dy="0.36em">
        {number}
      </text>
    </g>
  ));
}

function Outline({ valve, reach }: { valve: Valve; reach: number }) {
  const half = reach * 0.84;
  const tip = reach * 1.14;
  return valve.side === 'intake' ? (
    <rect class="body" x={-half} y={-half} width={2 * half} height={2 * half} rx={half * 0.22} />
  ) : (
    <path class="body" d={`M0 ${-tip} L${tip} 0 L0 ${tip} L${-tip} 0 Z`} />
  );
}

interface PlaceProps extends Measures {
  readonly record: ValveRecord;
  readonly isDue: boolean;
  /** Its words stand above it, else below. */
  readonly isUp: boolean;
}

function ValvePlace({ record, isDue, isUp, reach, text }: PlaceProps) {
  const { valve } = record;
  const state = stateOf(record);
  const figure = figureOf(record);
  const away = isUp ? -1 : 1;
  const line = (down: number) => away * (reach * 1.14 + text * down);
  const arrow = away * (reach * 1.14 + text * (figure ? 2.75 : 1.35));
  return (
    <g class={`valve ${state}${isDue ? ' due' : ''}`} transform={`translate(${valve.at.join(' ')})`}>
      {isDue && <circle class="halo" r={reach * 1.34} />}
      <Outline valve={valve} reach={reach} />
      {(state === 'leftOut' || state === 'failed') && (
        <path
          class="cross"
          d={`M${-reach} ${-reach} L${reach} ${reach} M${reach} ${-reach} L${-reach} ${reach}`}
        />
      )}
      <text class="letter" font-size={reach * 0.86} dy="0.36em">
        {valve.side === 'intake' ? 'I' : 'E'}
        {valve.mark?.charAt(0).toUpperCase()}
      </text>
      <text class="word" y={line(0.75)} font-size={text} dy="0.33em">
        {STATE_WORDS[state]}
      </text>
      {figure && (
        <text class="figure" y={line(1.95)} font-size={text * 1.5} dy="0.33em">
          {figure}
        </text>
      )}
      {isDue && (
        <path class="pointer" d={`M0 ${arrow} l${-text * 0.85} ${away * text * 1.15} h${text * 1.7} Z`} />
      )}
    </g>
  );
}

/** Half and three quarters full, hatched one way and both, striped, dotted: they can be told apart without colour. */
function Fills({ size }: { size: number }) {
  const step = size * 0.34;
  return (
    <defs>
      <linearGradient id="fill-half" x1="0" y1="1" x2="0" y2="0">
        <stop class="fill-set" offset="0.5" />
        <stop class="fill-none" offset="0.5" />
      </linearGradient>
      <linearGradient id="fill-most" x1="0" y1="1" x2="0" y2="0">
        <stop class="fill-set" offset="0.78" />
        <stop class="fill-none" offset="0.78" />
      </linearGradient>
      <linearGradient id="fill-stripe" x1="0" y1="0" x2="1" y2="1">
        <stop class="fill-marked" offset="0.36" />
        <stop class="fill-paint" offset="0.36" />
        <stop class="fill-paint" offset="0.64" />
        <stop class="fill-marked" offset="0.64" />
      </linearGradient>
      <pattern id="fill-hatch" class="fill-torqued" width={step} height={step} patternUnits="userSpaceOnUse">
        <path d={`M0 ${step} L${step} 0`} />
      </pattern>
      <pattern id="fill-cross" class="fill-torqued" width={step} height={step} patternUnits="userSpaceOnUse">
        <path d={`M0 ${step} L${step} 0 M0 0 L${step} ${step}`} />
      </pattern>
      <pattern id="fill-dots" class="fill-played" width={step} height={step} patternUnits="userSpaceOnUse">
        <circle cx={step / 2} cy={step / 2} r={step * 0.34} />
      </pattern>
    </defs>
  );
}
