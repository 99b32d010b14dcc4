// The two invented engines that the app can be tried on.
import { readSheet, type Sheet } from './sheet.ts';
import standby from './sheets/island-clinic-standby.json' with { type: 'json' };
import pump from './sheets/polder-pump-six.json' with { type: 'json' };

export const demoSheets: readonly Sheet[] = [standby, pump].map((data) => {
  const result = readSheet(data);
  if (!result.ok) throw new Error(`A built-in data sheet is wrong: ${result.faults.join(' ')}`);
  return result.sheet;
});
