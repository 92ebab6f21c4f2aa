import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { type Case, caseAt, caseOf, caseScenario, unitCount } from '../../sim/campaign/case.js';
import { SHORT_CUTS } from '../../sim/campaign/case-runner.js';
import { changeRanges, rangesAround, refuseContradictingRanges } from '../../sim/campaign/ranges.js';
import { defaultSetup, exampleSetup, readScenario, writeScenario } from '../../sim/run/setup/index.js';
import { thrownBy } from '../support/thrown.js';

const setup = defaultSetup();
const ranges = rangesAround(setup);
const space = { setup, ranges, duration_s: 12 };

/** As drawn when the ranges still stood in a list of their own. */
const CASE_11_OF_7 = [
  ['world.sheet.tilt_x', 0.01],
  ['world.sheet.tilt_y', 0.008],
  ['world.sheet.wave_mm', 1],
  ['world.sheet.wave_length_mm', 688],
  ['world.sheet.wave_direction_deg', 144],
  ['world.sheet.heat_growth_mm_per_s', 0.01],
  ['world.sheet.compliance_mm_per_N', 0.05],
  ['world.arc.voltage_at_cut_V', 117.7],
  ['world.arc.slope_V_per_mm', 3.69],
  ['world.arc.feed_effect_V', 6.5],
  ['world.arc.feed_effect_ms', 34],
  ['world.arc.crossing_V', 19.7],
  ['world.arc.kerf_mm', 1.63],
  ['world.arc.pierce_excess_V', 25.7],
  ['world.arc.pilot_jump_V', 9.7],
  ['world.arc.pilot_wander_V_rms', 1.3],
  ['world.arc.pilot_persists_ms', 159],
  ['world.arc.strike_delay_ms', 225],
  ['world.arc.strike_fail_chance', 0.11],
  ['world.noise.white_V_rms_per_tick', 0.43],
  ['world.noise.coloured_V_rms', 0.03],
  ['world.noise.ripple_V_peak', 2.7],
  ['world.noise.inverter_V_peak', 1.1],
  ['world.noise.impulse_rate_per_s', 6],
  ['world.noise.impulse_V', 172],
  ['machine.axis.backlash_um', 2],
  ['machine.head.bounce_ms', 2],
  ['machine.divider.gain_error', -0.0003],
  ['machine.supply.no_load_V', 298],
  ['machine.supply.pilot_V', 119],
  ['machine.firing.relay_close_ms', 5],
];

describe('a case of a campaign', () => {
  it('is the same for one number and one seed, and another for another', () => {
    expect(caseOf(space, 7, 123)).toEqual(caseOf(space, 7, 123));
    expect(caseOf(space, 7, 124)).not.toEqual(caseOf(space, 7, 123));
    expect(caseOf(space, 8, 123)).not.toEqual(caseOf(space, 7, 123));
  });

  it('is the same wherever the rows stand: case 11 of seed 7 around the example', () => {
    const example = exampleSetup();
    const { seed, values } = caseOf({ setup: example, ranges: rangesAround(example), duration_s: 40 }, 7, 11);
    // The order counts as well: the numbers of a case are drawn one after the other. New ones come last.
    expect({ seed, drawn: Object.entries(values) }).toEqual({ seed: 1791451810, drawn: CASE_11_OF_7 });
  });

  it('lies within the ranges, anywhere in the unit cube', () => {
    const unit = fc.double({ min: 0, max: 1, noNaN: true });
    fc.assert(
      fc.property(fc.array(unit, { minLength: unitCount(ranges), maxLength: unitCount(ranges) }), (units) => {
        const one = caseAt(space, units, 1);
        for (const { path, low, high } of ranges.numbers) {
          expect(one.values[path]).toBeGreaterThanOrEqual(low);
          expect(one.values[path]).toBeLessThanOrEqual(high);
        }
        for (const fault of one.faults) expect(fault.at_s).toBeLessThanOrEqual(12);
      }),
    );
  });

  it('reaches every kind of fault, every line of the operator, and both ends of every range', () => {
    const cases = Array.from({ length: 4000 }, (_, index) => caseOf(space, 1, index));
    const kinds = new Set(cases.flatMap((one) => one.faults.map((fault) => fault.kind)));
    expect(kinds.size).toBe(ranges.faults.length);
    const acts = new Set(cases.flatMap((one) => one.operator.map((event) => `${event.line} ${event.on}`)));
    expect(acts.size).toBe(10);
    for (const { path, low, high } of ranges.numbers) {
      const values = cases.map((one) => one.values[path]);
      const near = 0.02 * (high - low);
      expect(Math.min(...values), path).toBeLessThanOrEqual(low + near);
      expect(Math.max(...values), path).toBeGreaterThanOrEqual(high - near);
    }
  });

  it('can be written down as a stored run and read again', () => {
    for (let index = 0; index < 200; index++) {
      const scenario = caseScenario(setup, caseOf(space, 3, index), SHORT_CUTS[0]);
      expect(readScenario(writeScenario(scenario), 'case.yaml')).toEqual(scenario);
    }
  });

  it('has the setup’s own value in every range', () => {
    for (const { path, low, high, nominal } of ranges.numbers) {
      expect(nominal, path).toBeGreaterThanOrEqual(low);
      expect(nominal, path).toBeLessThanOrEqual(high);
    }
  });
});

describe('ranges on the command line', () => {
  const change = (...words: string[]) => changeRanges(ranges, setup, words);

  it('take the place of the range of that name, and add a parameter of the box', () => {
    const changed = change('world.arc.slope_V_per_mm=3.5:4.5', 'pierce_ms=100:900');
    const found = (path: string) => changed.numbers.find((range) => range.path === path)!;
    expect([found('world.arc.slope_V_per_mm').low, found('world.arc.slope_V_per_mm').high]).toEqual([3.5, 4.5]);
    expect([found('box.pierce_ms').low, found('box.pierce_ms').high]).toEqual([100, 900]);
    const one: Case = caseOf({ setup, ranges: changed, duration_s: 12 }, 1, 5);
    expect(caseScenario(setup, one, SHORT_CUTS[0]).setup.box.pierce_ms).toBe(one.values['box.pierce_ms']);
  });

  it('leave faults and operator out when asked to', () => {
    const quiet = change('faults=0', 'operator=0');
    for (let index = 0; index < 500; index++) {
      const one = caseOf({ setup, ranges: quiet, duration_s: 12 }, 1, index);
      expect([...one.faults, ...one.operator]).toEqual([]);
    }
  });

  it.each([
    ['world.arc.slope_V_per_mm=5:3', 'range-order', '5 is above 3'],
    ['world.arc.slope_V_per_mm=3:99', 'range-limit', 'outside 0.5 to 12 V/mm'],
    ['world.arc.slop=3:4', 'range-unknown', 'there is no number world.arc.slop'],
    ['world.arc.slope_V_per_mm=3', 'range-form', 'this is not a range'],
    ['faults=2', 'range-limit', 'a chance lies from 0 to 1'],
  ])('%s is refused', (word, code, text) => {
    const error = thrownBy(() => change(word));
    expect(error.code).toBe(code);
    expect(error.what).toContain(text);
    expect(error.what).toContain(word);
  });

  it('are refused when one name is given twice', () => {
    const error = thrownBy(() => change('pierce_ms=100:900', 'box.pierce_ms=200:300'));
    expect([error.code, error.what]).toEqual(['range-twice', '--range gives pierce_ms twice']);
  });

  it.each([
    [['pierce_height_mm=1:2', 'cut_height_mm=3:4'], 'box.cut_height_mm (3 mm) is above box.pierce_height_mm (1 mm)'],
    [
      ['pierce_height_mm=2:5', 'pierce_ms=100:200', 'cut_height_mm=1:3'],
      'box.cut_height_mm (3 mm) is above box.pierce_height_mm (2 mm)',
    ],
    [['arc_high_V=110:130'], 'box.target_V (118 V) is not below box.arc_high_V (110 V)'],
  ])('%s are refused: no setup may hold such values', (words, text) => {
    const error = thrownBy(() => refuseContradictingRanges(change(...words), setup));
    expect(error.code).toBe('range-contradiction');
    expect(error.what).toContain(`in some cuts of these ranges ${text}`);
  });

  it('may lie where the setup does not, as long as they cannot meet', () => {
    const changed = change('pierce_height_mm=5:6', 'cut_height_mm=4:5', 'seek_travel_mm=40:50');
    expect(() => refuseContradictingRanges(changed, setup)).not.toThrow();
  });
});
