// The sums held against published values. Each check names its source; V: read there, M: from memory, C: computed from
// definitions.
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { prompt } from '../src/phrases/prompts.ts';
import { type Book, openBook } from '../src/procedure/book.ts';
import type { StepName } from '../src/procedure/steps.ts';
import { demoSheets } from '../src/trade/demos.ts';
import { goNoGo, inside, largerSide } from '../src/trade/gauge.ts';
import { closedAt, companion, firingAngles, freeAt, stations, turnOn } from '../src/trade/positions.ts';
import { pitchOf, screwTurn } from '../src/trade/screw.ts';
import { readSheet, type Sheet, valveId } from '../src/trade/sheet.ts';
import {
  type ClearanceUnit,
  convert,
  convertTorque,
  degrees,
  fromMicrometres,
  micrometres,
  type TorqueUnit,
  toMicrometres,
  toNewtonMetres,
  writeBoth,
  writeClearance,
  writeInches,
  writeTorque,
} from '../src/trade/units.ts';

const [standby, pump] = demoSheets as [Sheet, Sheet];

/** A good sheet with this firing order, one intake and one exhaust valve a cylinder. */
function engine(firingOrder: number[], changes: Partial<Sheet> = {}): Sheet {
  const numbers = [...firingOrder].sort((a, b) => a - b);
  const result = readSheet({
    ...pump,
    firingOrder,
    cylinders: numbers.map((number) => ({ number, at: [number * 100, 100] })),
    valves: numbers.flatMap((cylinder) =>
      (['intake', 'exhaust'] as const).map((side) => ({
        cylinder,
        side,
        mark: null,
        at: [cylinder * 100, 50],
      })),
    ),
    ...changes,
  });
  if (!result.ok) throw new Error(result.faults.join(' '));
  return result.sheet;
}

describe('units', () => {
  test('an inch is 25.4 mm (C: 1959 yard and pound agreement)', () => {
    expect(toMicrometres({ value: 1000, unit: 'thou' })).toBe(25_400);
    expect(toMicrometres({ value: 25.4, unit: 'mm' })).toBe(25_400);
  });

  test('pound-force inches and feet in newton metres (C: NIST SP 811, 1 lbf = 4.448 221 615 260 5 N)', () => {
    const poundForce = 4.448_221_615_260_5;
    expect(toNewtonMetres({ value: 1, unit: 'lbf·in' })).toBeCloseTo(poundForce * 0.0254, 15);
    expect(toNewtonMetres({ value: 1, unit: 'lbf·ft' })).toBeCloseTo(poundForce * 0.3048, 12);
    expect(convertTorque({ value: 1, unit: 'lbf·ft' }, 'lbf·in').value).toBeCloseTo(12, 12);
  });

  test('seven thousandths are 177.8 µm, and seven again (C)', () => {
    const length = toMicrometres({ value: 7, unit: 'thou' });
    expect(length).toBe(177.8);
    expect(fromMicrometres(length, 'thou').value).toBe(7);
  });

  test('every blade of whole thousandths comes back exactly (C)', () => {
    for (let value = 1; value <= 200; value++) {
      expect(fromMicrometres(toMicrometres({ value, unit: 'thou' }), 'thou').value).toBe(value);
    }
  });

  test.each([
    ['intake', 7, '7 thou (0.178 mm)', 0.178, '0.178 mm (0.007 in)'],
    ['exhaust', 12, '12 thou (0.305 mm)', 0.305, '0.305 mm (0.012 in)'],
  ])('%s clearance of %i thousandths, in both units (C)', (_, thou, fromThou, mm, fromMillimetres) => {
    expect(writeBoth({ value: thou, unit: 'thou' })).toBe(fromThou);
    expect(writeBoth({ value: mm, unit: 'mm' })).toBe(fromMillimetres);
  });

  test('a clearance between two thousandths is written to the tenth of one (C)', () => {
    expect(writeBoth({ value: 0.18, unit: 'mm' })).toBe('0.18 mm (0.0071 in)');
    expect(writeInches(micrometres(177.8))).toBe('0.007 in');
    expect(writeClearance({ value: 7.5, unit: 'thou' })).toBe('7.5 thou');
  });

  test('a locknut of 120 lbf·in takes 13.56 N·m (C)', () => {
    expect(writeTorque(convertTorque({ value: 120, unit: 'lbf·in' }, 'N·m'))).toBe('13.56 N·m');
  });

  test('every clearance comes back from the other unit', () => {
    const unit = fc.constantFrom<ClearanceUnit>('mm', 'thou');
    fc.assert(
      fc.property(fc.double({ min: 0.001, max: 100, noNaN: true }), unit, unit, (value, from, to) => {
        const back = convert(convert({ value, unit: from }, to), from);
        expect(back.unit).toBe(from);
        expect(Math.abs(back.value - value)).toBeLessThanOrEqual(value * 1e-14);
      }),
    );
  });

  test('every torque comes back from the other unit', () => {
    const unit = fc.constantFrom<TorqueUnit>('N·m', 'lbf·in', 'lbf·ft');
    fc.assert(
      fc.property(fc.double({ min: 0.1, max: 1000, noNaN: true }), unit, unit, (value, from, to) => {
        const back = convertTorque(convertTorque({ value, unit: from }, to), from);
        expect(Math.abs(back.value - value)).toBeLessThanOrEqual(value * 1e-14);
      }),
    );
  });
});

describe('which valves may be set where', () => {
  test.each([
    // V: TM 5-3895-383-24, page 6-60
    ['1-3-4-2', 1, [1, 2], [1, 3]],
    ['1-3-4-2', 4, [3, 4], [2, 4]],
    // V: six-cylinder service tables
    ['1-5-3-6-2-4', 1, [1, 2, 4], [1, 3, 5]],
    ['1-5-3-6-2-4', 6, [3, 5, 6], [2, 4, 6]],
  ])('order %s, number %i at firing top dead centre', (order, cylinder, intake, exhaust) => {
    const sheet = engine(order.split('-').map(Number));
    const crank = stations(sheet).find((station) => station.cylinder === cylinder)!.at;
    expect(freeAt(sheet, 'intake', crank)).toEqual(intake);
    expect(freeAt(sheet, 'exhaust', crank)).toEqual(exhaust);
  });

  test('order 1-3-4-2 stops every half turn in that order (C)', () => {
    const visited = stations(engine([1, 3, 4, 2])).map(({ cylinder, at }) => [cylinder, at]);
    expect(visited).toEqual([
      [1, 0],
      [3, 180],
      [4, 360],
      [2, 540],
    ]);
  });

  test('the side that the sheet names is visited first', () => {
    expect(stations(standby)[0]!.valves.map(valveId)).toEqual([
      'exhaust-1-alpha',
      'exhaust-1-bravo',
      'intake-1-alpha',
      'intake-1-bravo',
    ]);
    expect(stations(pump)[0]!.valves.map(valveId)).toEqual(['intake-1', 'exhaust-1']);
  });

  test('uneven firing is taken from the sheet (C)', () => {
    const twin = engine([1, 2], { firingAngles: [0, 270] });
    expect(firingAngles(twin)).toEqual([0, 270]);
    expect(companion(twin, 1)).toBeNull();
  });

  const order = fc.integer({ min: 1, max: 18 }).chain((n) =>
    fc.shuffledSubarray(
      [...Array(n).keys()].map((k) => k + 1),
      { minLength: n, maxLength: n },
    ),
  );

  test('turning on from any angle to any other is less than two turns, never back, and lands there', () => {
    const angle = fc.integer({ min: 0, max: 7199 }).map((tenths) => tenths / 10);
    fc.assert(
      fc.property(angle, angle, (from, to) => {
        const turned = turnOn(degrees(from), degrees(to));
        expect(turned).toBeGreaterThanOrEqual(0);
        expect(turned).toBeLessThan(720);
        expect(Math.sin(((from + turned - to) * Math.PI) / 720)).toBeCloseTo(0, 9);
      }),
    );
  });

  test('every valve is in exactly one station and is closed there, whatever the order and the margin', () => {
    fc.assert(
      fc.property(order, fc.integer({ min: 10, max: 100 }), (firingOrder, margin) => {
        const sheet = engine(firingOrder, {
          timing: {
            exhaust: { opens: 130, closes: 370, margin },
            intake: { opens: 350, closes: 590, margin },
          },
        });
        const all = stations(sheet);
        expect(all.flatMap(({ valves }) => valves.map(valveId)).sort()).toEqual(
          sheet.valves.map(valveId).sort(),
        );
        for (const { valves, at } of all) {
          for (const valve of valves) expect(closedAt(sheet, valve, at)).toBe(true);
        }
      }),
    );
  });

  test('every cylinder of an evenly firing engine has a companion where the count is even, and none where it is odd', () => {
    fc.assert(
      fc.property(order, (firingOrder) => {
        const sheet = engine(firingOrder);
        for (const cylinder of firingOrder) {
          const other = companion(sheet, cylinder);
          if (firingOrder.length % 2 === 1) expect(other).toBeNull();
          else expect(companion(sheet, other!)).toBe(cylinder);
        }
      }),
    );
  });
});

describe('companions (C: an even order cut in two halves)', () => {
  test('order 1-3-4-2 pairs 1 with 4 and 3 with 2', () => {
    const four = engine([1, 3, 4, 2]);
    expect([1, 2, 3, 4].map((cylinder) => companion(four, cylinder))).toEqual([4, 3, 2, 1]);
  });

  test('the rule of thumb "together n + 1" holds in line and fails for an opposed four', () => {
    expect(companion(pump, 2)).toBe(5);
    expect(companion(engine([1, 3, 2, 4], { layout: 'opposed' }), 1)).toBe(2);
  });

  test('three and five cylinders have none', () => {
    expect(companion(engine([1, 3, 2]), 1)).toBeNull();
    expect(companion(engine([1, 2, 4, 5, 3]), 4)).toBeNull();
  });
});

describe('the screw (C: 360° × change ÷ pitch)', () => {
  test.each([
    ['0.05 mm on M6 × 0.75', 50, 750, 24],
    ['0.05 mm on M5 × 0.5', 50, 500, 36],
    ['0.05 mm on M8 × 1', 50, 1000, 18],
    ['0.05 mm on 1/4-28', 50, pitchOf(28), 19.8],
    ['0.008 in on a pitch of 1.0 mm', toMicrometres({ value: 8, unit: 'thou' }), 1000, 73.15],
  ])('%s', (_, change, pitch, angle) => {
    expect(screwTurn(micrometres(change), micrometres(pitch))).toBeCloseTo(angle, 1);
  });

  test('a rocker of ratio 1.5 makes the turn smaller, and a tighter gap turns the other way', () => {
    expect(screwTurn(micrometres(-50), micrometres(1000), 1.5)).toBeCloseTo(-12, 9);
  });

  test('a pitch or ratio of nothing is refused', () => {
    expect(() => screwTurn(micrometres(50), micrometres(0))).toThrow(
      'Pitch and rocker ratio must be above zero.',
    );
    expect(() => screwTurn(micrometres(50), micrometres(1000), 0)).toThrow(RangeError);
  });
});

describe('a whole sheet of a four-cylinder engine, as the trade knows them (common practice, no source)', () => {
  const sheet = engine([1, 3, 4, 2], {
    clearance: {
      ...pump.clearance,
      intake: { wanted: { value: 7, unit: 'thou' }, minus: 1, plus: 1, also: { value: 0.178, unit: 'mm' } },
      exhaust: { wanted: { value: 12, unit: 'thou' }, minus: 1, plus: 1, also: { value: 0.305, unit: 'mm' } },
    },
    adjuster: {
      ...pump.adjuster,
      locknut: { value: 120, unit: 'lbf·in', also: { value: 13.56, unit: 'N·m' } },
    },
  });
  const opening = {
    sheet,
    mechanic: 'Mechanic',
    inspector: 'Inspector',
    instruments: [],
    openedAt: '2026-01-02T08:00:00Z',
  };
  const at = (step: StepName): Book => ({ ...openBook(opening), step });

  test('its stations are the cylinders in firing order', () => {
    expect(stations(sheet).map(({ cylinder }) => cylinder)).toEqual([1, 3, 4, 2]);
  });

  test('its clearances are asked for in thousandths and shown in both units', () => {
    expect(prompt(at('setDrag'), 'work')).toContain('blade 7 thou');
    expect(writeBoth(sheet.clearance.intake.wanted)).toBe('7 thou (0.178 mm)');
    expect(writeBoth(sheet.clearance.exhaust.wanted)).toBe('12 thou (0.305 mm)');
  });

  test('its locknut is torqued to 120 inch pounds, which are 13.56 N·m', () => {
    expect(prompt(at('torque'), 'work')).toContain('120 inch pounds');
    expect(writeTorque(convertTorque(sheet.adjuster.locknut, 'N·m'))).toBe('13.56 N·m');
  });

  test('its exhaust valves have more play than its intake valves', () => {
    expect(largerSide(sheet)).toBe('exhaust');
    expect(prompt(at('compare'), 'work')).toContain('Has the exhaust side of cylinder one more play');
  });
});

describe('a reading against its limits (C)', () => {
  const { intake } = standby.clearance;

  test.each([
    [0.19, false],
    [0.2, true],
    [0.3, true],
    [0.31, false],
  ])('%f mm against 0.25 ± 0.05 mm', (value, ok) => expect(inside({ value, unit: 'mm' }, intake)).toBe(ok));

  test('go and no-go blades are the two limits in the unit of the sheet', () => {
    const { go, noGo } = goNoGo(pump.clearance.exhaust);
    expect([writeClearance(go), writeClearance(noGo)]).toEqual(['14 thou', '17 thou']);
  });

  test('a reading at the limit counts as inside in either unit', () => {
    for (const reading of Object.values(goNoGo(intake))) {
      expect(inside(reading, intake)).toBe(true);
      expect(inside(convert(reading, 'thou'), intake)).toBe(true);
    }
  });

  test('the exhaust side has the larger gap (common practice, no source)', () => {
    expect(demoSheets.map(largerSide)).toEqual(['exhaust', 'exhaust']);
    const { clearance } = standby;
    expect(largerSide({ ...standby, clearance: { ...clearance, exhaust: clearance.intake } })).toBeNull();
  });
});

describe('misprints seen in published manuals are refused (V: found in service manuals)', () => {
  const faults = (changes: object) => {
    const result = readSheet({ ...structuredClone(pump), ...changes });
    return result.ok ? [] : result.faults;
  };

  test('"0.011 in or 0.028 mm": a factor of ten', () => {
    const wanted = { value: 11, unit: 'thou' };
    const intake = { wanted, minus: 1, plus: 1, also: { value: 0.028, unit: 'mm' } };
    expect(faults({ clearance: { ...pump.clearance, intake } })).toEqual([
      'clearance › intake: 11 thou and 0.028 mm are not the same clearance. Look it up again.',
    ]);
  });

  test('"28 N·m" beside "22 lbf·ft": not the same torque', () => {
    const locknut = { value: 28, unit: 'N·m', also: { value: 22, unit: 'lbf·ft' } };
    expect(faults({ adjuster: { ...pump.adjuster, locknut } })).toEqual([
      'adjuster › locknut: 28 N·m and 22 lbf·ft are not the same torque. Look it up again.',
    ]);
  });

  test('a table that lists a valve twice and leaves one out', () => {
    const valves = pump.valves.map((valve, k) => (k === 5 ? pump.valves[4] : valve));
    expect(faults({ valves })).toContain('valves: intake-3 is listed twice.');
  });
});
