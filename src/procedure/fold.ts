// A session is the fold of its events: the same events always lead to the same moment.
import { initialTransition, type SnapshotFrom, transition } from 'xstate';
import { dueStation, dueValve, itemDue, needsCrank, type Opening } from './book.ts';
import type { Doubted, Said } from './entry.ts';
import { procedure } from './machine.ts';

export type Moment = SnapshotFrom<typeof procedure>;
export type Event = Said | Doubted;

export const begin = (opening: Opening): Moment => initialTransition(procedure, opening)[0];
export const after = (moment: Moment, event: Event): Moment => transition(procedure, moment, event)[0];
export const fold = (opening: Opening, events: readonly Event[]): Moment =>
  events.reduce(after, begin(opening));

/** What is going on at a moment: a step of the work, a question, or an interruption. */
export type Going = 'work' | 'asking' | 'standBy' | 'stopped' | 'offer' | 'still';

export function goingOn(moment: Moment): Going {
  const { value } = moment;
  return (typeof value === 'string' ? value : Object.keys(value)[0]) as Going;
}

/**
 * Where a session stands, as tools name it: "setDrag@2/exhaust-2-alpha", with "-" for no station or valve. What is
 * counted and what is asked about belong to the name, for other things may be said there: "countOut-towels@-/-".
 */
export function placeName(moment: Moment): string {
  const book = moment.context;
  const going = goingOn(moment);
  const step = [book.step, itemDue(book)?.replaceAll(' ', '-')].filter(Boolean).join('-');
  const doing = going === 'work' ? step : going === 'asking' ? `asking-${step}` : going;
  const station = needsCrank(book) && book.station < book.stations.length ? dueStation(book).cylinder : '-';
  return `${doing}@${dueValve(book)?.valve.cylinder ?? station}/${dueValve(book)?.id ?? '-'}`;
}
