// A whole session by sound alone, from the first caution to the signed record, in a real browser.
import { readFileSync } from 'node:fs';
import { expect, test } from '@playwright/test';
import { readRecord } from '../../src/logbook/record.ts';
import { Robot, type Whim } from './robot.ts';

test.describe.configure({ mode: 'serial' });

test('sixteen valves, start to signature, by two voices, with a slip, an odd value, a wrong cylinder and a pause', async ({
  page,
}) => {
  test.setTimeout(1_500_000);
  const robot = await Robot.at(page, ['rms', 'awb']);
  await page.goto('/');
  await page.getByLabel(/mechanic, who/i).fill('Robot');
  await page.getByRole('radio', { name: /no voice/i }).check();
  await page.getByRole('button', { name: /turn it on/i }).click();
  await expect(page.getByText('Nothing heard yet.')).toBeVisible({ timeout: 30_000 });
  await page.getByRole('button', { name: /begin/i }).click();

  const once = new Set<string>();
  const first = (name: string) => !once.has(name) && once.add(name);
  const whim: Whim = ({ place, going }) => {
    if (going !== 'work') return null;
    if (place === 'turn@2/-' && first('wrong cylinder')) return { means: 'cylinder three mark seen' };
    if (place === 'gauge@2/exhaust-2-alpha' && first('pause')) return { means: 'stand by' };
    if (place === 'gauge@4/exhaust-4-alpha' && first('odd value')) return { means: 'point five two' };
    if (place === 'gauge@3/exhaust-3-bravo' && first('slip')) return { slips: 'point four five' };
    return null;
  };
  await robot.work({ whim });

  await expect(page.getByText(/signed/i).first()).toBeVisible();
  const download = page.waitForEvent('download');
  await page.getByRole('button', { name: /save/i }).click();
  const result = readRecord(readFileSync((await (await download).path())!, 'utf8'));
  expect(result.ok).toBe(true);
  if (!result.ok) return;
  const { record } = result;
  expect(record.signed.mechanic).toBe('Robot');
  expect(record.valves).toHaveLength(16);
  expect(record.valves.every((valve) => valve.phase === 'proved')).toBe(true);
  const odd = record.valves.find((valve) => valve.id === 'exhaust-4-alpha');
  expect(odd?.found).toEqual({ value: 0.52, unit: 'mm' });
  const types = record.events.map((event) => event.entry.type);
  expect(types).toContain('standBy');
  expect(types).toContain('carryOn');

  // The slip was taken back, not deleted; the right figure stands.
  expect(types).toContain('correction');
  expect(record.valves.find((valve) => valve.id === 'exhaust-3-bravo')?.found).toEqual({
    value: 0.4,
    unit: 'mm',
  });
  // The wrong cylinder was refused with the reason, and the odd value entered only after a yes.
  expect(robot.said.map((said) => said.readBack).join('\n')).toMatch(
    /cylinder two is due, not cylinder three/i,
  );
});
