import { describe, expect, it } from 'vitest';
import {
  DEFAULT_LIMITS,
  type LimitName,
  ratioOf,
  readyMadeSheet,
  relaxations,
  searchDesigns,
  typedLimit,
} from '../../sim/electrical/index.js';
import { useOf } from '../../sim/run/job/index.js';
import { assignValues, exampleSetup } from '../../sim/run/setup/index.js';
import { thrownBy } from '../support/thrown.js';

const setup = (...set: readonly string[]) => assignValues(exampleSetup(), set);

describe('what has to give when no design keeps every limit', () => {
  it.each([
    ['machine.supply.no_load_V=290'],
    ['machine.supply.no_load_V=350'],
    ['machine.supply.no_load_V=500'],
    ['machine.divider.drift_ppm_per_K=25', 'machine.divider.series=24'],
  ])('is told with values that were tried: %s', (...set) => {
    const given = setup(...set);
    const use = useOf(given);
    expect(searchDesigns(given.machine, use, DEFAULT_LIMITS, 1).kept).toBe(0);
    const found = relaxations(given.machine, use, DEFAULT_LIMITS);
    expect(found.length).toBeGreaterThan(0);
    for (const one of found) {
      expect(Object.keys(one)).not.toContain('lead_mA');
      expect(
        searchDesigns(given.machine, use, { ...DEFAULT_LIMITS, ...one }, 1).kept,
        JSON.stringify(one),
      ).toBeGreaterThan(0);
    }
  });

  it('is nothing where no limit helps', () => {
    const given = setup('machine.supply.no_load_V=500', 'machine.divider.resistor_V=12');
    expect(relaxations(given.machine, useOf(given), DEFAULT_LIMITS)).toEqual([]);
  });

  it('is rounded towards the loose side, and within the range of the limit', () => {
    const typed: readonly (readonly [LimitName, number, number])[] = [
      ['wander_mm', 0.05031, 0.051],
      ['wander_mm', 0.05, 0.05],
      ['headroom_percent', 34.97, 34],
      ['headroom_percent', 0, 0],
      ['step_mm', 0.0381, 0.039],
    ];
    for (const [name, value, wanted] of typed) expect(typedLimit(name, value), name).toBe(wanted);
  });
});

describe('a ready-made divider', () => {
  const { machine, ...rest } = exampleSetup();
  const use = useOf({ machine, ...rest });
  const sheet = (ready: Parameters<typeof readyMadeSheet>[0]) => readyMadeSheet(ready, machine, use);

  it('is explained where its full scale does not reach what the box reads', () => {
    // 3.3 V less the bias of 124 counts are 3.2 V at the output.
    const { full_scale_V, findings } = sheet({ ratio: 50 });
    expect(full_scale_V).toBeCloseTo(160, 0);
    expect(findings[0]).toMatch(/full at 160 V, below .* V up to which the box counts an arc/);
    expect(sheet({ ratio: 70 }).findings[0]).toMatch(/below the no-load voltage of 280 V.* ratio of 119 would do/);
    expect(sheet({ ratio: 119 }).findings).toEqual([]);
  });

  it('is explained, not refused, where its full scale is beyond any use', () => {
    expect(sheet({ ratio: 5000 }).findings[0]).toMatch(
      /full at 15996 V, more than ten times .*: a step of its 12 bits is 4\.03 V/,
    );
  });

  it('says what a lead carries only when its resistance is known, and always what cannot be known', () => {
    const bare = sheet({ ratio: 120 });
    expect([bare.input_mA, bare.departure_percent]).toEqual([null, null]);
    const known = sheet({
      ratio: 120,
      resistance_kohm: 1200,
      pairs: [
        [60, 0.5],
        [-10, -0.0833],
      ],
    });
    expect(known.input_mA).toBeCloseTo(280 / 1200, 6);
    expect(known.unknown.length).toBe(bare.unknown.length - 3);
    expect(known.unknown.join()).toContain('protective resistors');
  });

  it('takes its ratio from pairs, and does not believe one that departs', () => {
    const pairs = [
      [60, 0.5],
      [30, 0.25],
      [12, 0.1],
    ] as const;
    expect(ratioOf(pairs)).toBeCloseTo(120, 9);
    expect(sheet({ ratio: ratioOf(pairs), pairs }).findings).toEqual([]);
    const bent = [...pairs, [50, 0.5]] as const;
    expect(sheet({ ratio: ratioOf(bent), pairs: bent }).findings.join()).toMatch(/departs by/);
    expect(thrownBy(() => ratioOf([[60, 0]]))).toMatchObject({ code: 'pairs-none' });
  });
});
