// The crank drawn as a thread of two turns, 0° at the inner end and 720° at the outer: half a turn of the crank is half
// a turn of the picture, and the two turns of the cycle never lie on each other.
import { type Book, degreesToProof, degreesToTurn, dueStation, isOvershot } from '../procedure/book.ts';

const CYCLE = 720;
const INNER = 48;
const OUTER = 95;

/** What a turning step asks for: to which angle, and the words in the middle of the dial. */
interface Turn {
  readonly to: number;
  readonly big: string;
  readonly small: string;
  readonly degrees: number | null;
}

export function turnDue(book: Book): Turn | null {
  if (isOvershot(book))
    return {
      to: book.step === 'turn' ? dueStation(book).at : 0,
      big: '2 turns',
      small: 'go on',
      degrees: 720,
    };
  switch (book.step) {
    case 'turn': {
      const degrees = degreesToTurn(book);
      return { to: dueStation(book).at, big: `${Math.round(degrees)}°`, small: 'turn on', degrees };
    }
    case 'referenceTurn':
      return { to: 0, big: 'mark', small: 'turn on to', degrees: null };
    case 'referenceOn':
      return { to: 0, big: '360°', small: 'turn on', degrees: 360 };
    case 'proofTurns': {
      const degrees = degreesToProof(book);
      return {
        to: 0,
        big: degrees === 720 ? '2 turns' : `${Math.round(degrees)}°`,
        small: 'turn on',
        degrees,
      };
    }
    case 'proofAgain':
      return { to: book.crank ?? 0, big: '2 turns', small: 'turn on', degrees: 720 };
    default:
      return null;
  }
}

export function Dial({ book, turn }: { book: Book; turn: Turn }) {
  const { direction, seenFrom, turnedFrom, reverses, ratio } = book.sheet.rotation;
  const sign = direction === 'clockwise' ? 1 : -1;
  const at = (angle: number, out = 0) => place(angle, sign, out);
  const { crank } = book;
  const isStep = book.step === 'turn' && crank !== null;
  const target = at(turn.to);
  return (
    <figure class="dial">
      <svg viewBox="-112 -112 224 224" aria-hidden="true">
        <path class="thread" d={thread(0, CYCLE, sign)} />
        {Array.from({ length: CYCLE / 30 + 1 }, (_, k) => k * 30).map((angle) => {
          const [[x1, y1], [x2, y2]] = [at(angle, -3), at(angle, angle % 90 === 0 ? 6 : 3)];
          return <line key={angle} class="tick" x1={x1} y1={y1} x2={x2} y2={y2} />;
        })}
        {isStep && turn.to > crank && <path class="way" d={thread(crank, turn.to, sign)} />}
        {isStep && turn.to < crank && (
          <>
            <path class="way" d={thread(crank, CYCLE, sign)} />
            <path class="way" d={thread(0, turn.to, sign)} />
          </>
        )}
        {crank !== null && <line class="throw" x1="0" y1="0" x2={at(crank)[0]} y2={at(crank)[1]} />}
        {book.stations.map(({ cylinder, at: angle }) => {
          const [x, y] = at(angle);
          const state = angle === turn.to ? 'bead to' : angle === crank ? 'bead here' : 'bead';
          return (
            <g key={cylinder} class={state} transform={`translate(${x} ${y})`}>
              <circle r="10.5" />
              <text dy="0.36em">{cylinder}</text>
            </g>
          );
        })}
        <path class="sense" d={sense(sign)} />
        <circle class="hub" r="34" />
        <text class="small" y="-13">
          {turn.small}
        </text>
        <text class={turn.degrees === null ? 'big long' : 'big'} y="11">
          {turn.big}
        </text>
        <circle class="aim" cx={target[0]} cy={target[1]} r="15" />
      </svg>
      <figcaption>
        <strong>
          {sign > 0 ? '↻' : '↺'} {direction}
        </strong>{' '}
        seen from {seenFrom}
        {(reverses || ratio !== 1) && (
          <span>
            At the tool ({turnedFrom}){reverses && ': the other way round'}
            {turn.degrees !== null && `, ${Math.round(turn.degrees * ratio)}°`}
          </span>
        )}
      </figcaption>
    </figure>
  );
}

/** 0° at the top. */
function place(angle: number, sign: number, out = 0): readonly [number, number] {
  const radius = INNER + ((OUTER - INNER) * angle) / CYCLE + out;
  const turned = (sign * angle * Math.PI) / 180;
  return [round(radius * Math.sin(turned)), round(-radius * Math.cos(turned))];
}

function thread(from: number, to: number, sign: number): string {
  const steps = Math.max(2, Math.ceil((to - from) / 6));
  const points = Array.from({ length: steps + 1 }, (_, k) => place(from + ((to - from) * k) / steps, sign));
  return `M${points.map((point) => point.join(' ')).join(' L')}`;
}

/** An arrow outside the thread, at the lower side, for the sense of turning. */
function sense(sign: number): string {
  const on = (angle: number, radius: number) => {
    const turned = (sign * angle * Math.PI) / 180;
    return `${round(radius * Math.sin(turned))} ${round(-radius * Math.cos(turned))}`;
  };
  return `M${on(110, 107)} A107 107 0 0 ${sign > 0 ? 1 : 0} ${on(152, 107)} M${on(145, 101)} L${on(153, 107)} L${on(144, 111)}`;
}

const round = (value: number) => Math.round(value * 100) / 100;
