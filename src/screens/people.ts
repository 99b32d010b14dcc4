// Who works, who inspects, and with what. An invented engine can be practised on at once: people and instruments have
// stand-ins until others are given.
import type { Instrument } from '../procedure/book.ts';
import type { Sheet } from '../trade/sheet.ts';
import type { Preparing } from './view.ts';

export const PRACTICE = { mechanic: 'Practice mechanic', inspector: 'Practice inspector' } as const;

const PRACTICE_NUMBER: Record<Instrument['what'], string> = { 'feeler gauge': 'F 1', 'torque wrench': 'T 1' };

/** Number and date are empty where they are still missing.  @param year the present one */
export function instrumentsOf(
  instruments: readonly Instrument[],
  sheet: Pick<Sheet, 'invented'>,
  year: number,
): Instrument[] {
  return instruments.map(({ what, id, due }) => ({
    what,
    id: id.trim() || (sheet.invented ? PRACTICE_NUMBER[what] : ''),
    due: due || (sheet.invented ? `${year + 1}-01-01` : ''),
  }));
}

/** Empty where a name is still missing; the inspector is null where there is none and the sheet asks for none. */
export function peopleOf(
  { mechanic, inspector }: Pick<Preparing, 'mechanic' | 'inspector'>,
  sheet: Pick<Sheet, 'invented' | 'inspection'>,
): { mechanic: string; inspector: string | null } {
  const named = (name: string, practice: string) => name.trim() || (sheet.invented ? practice : '');
  return {
    mechanic: named(mechanic, PRACTICE.mechanic),
    inspector: sheet.inspection ? named(inspector, PRACTICE.inspector) : inspector.trim() || null,
  };
}
