// Who works and who inspects. An invented engine can be practised on at once: its people have names until others are given.
import type { Sheet } from '../trade/sheet.ts';
import type { Preparing } from './view.ts';

export const PRACTICE = { mechanic: 'Practice mechanic', inspector: 'Practice inspector' } as const;

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
