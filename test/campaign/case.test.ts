import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { type Case, caseAt, caseOf, caseScenario, unitCount } from '../../sim/campaign/case.js';
import { SHORT_CUTS } from '../../sim/campaign/case-runner.js';
import { changeRanges, rangesAround, refuseContradictingRanges } from '../../sim/campaign/ranges.js';
import { relationsKept } from '../../sim/campaign/relations.js';
import { defaultSetup, exampleSetup, readScenario, writeScenario } from '../../sim/run/setup/index.js';
import { thrownBy } from '../support/thrown.js';

const setup = defaultSetup();
const ranges = rangesAround(setup);
const space = { setup, ranges, duration_s: 12 };

/** As drawn when format 5 began. */
const CASE_11_OF_7 = [
  ['world.sheet.tilt_x', 0.01],
  ['world.sheet.tilt_y', 0.008],
  ['world.sheet.bow_mm', -0.4],
  ['world.sheet.wave_mm', 1.46],
  ['world.sheet.wave_length_mm', 436],
  ['world.sheet.wave_direction_deg', 27],
  ['world.sheet.heat_growth_mm_per_s', 0.06],
  ['world.sheet.compliance_mm_per_N', 0.027],
  ['world.sheet.vibration_mm', 0.03],
  ['world.sheet.vibration_Hz', 16],
  ['world.sheet.bump_mm', 0.18],
  ['world.sheet.bump_size_mm', 49],
  ['world.sheet.puddle_mm', 0.19],
  ['world.sheet.drop_mm', 0.4],
  ['world.arc.voltage_at_cut_V', 127.4],
  ['world.arc.slope_V_per_mm', 5.78],
  ['world.arc.feed_effect_V', 12.7],
  ['world.arc.feed_effect_ms', 103],
  ['world.arc.crossing_V', 26.4],
  ['world.arc.kerf_mm', 1.35],
  ['world.arc.pierce_excess_V', 23.1],
  ['world.arc.pierce_decay_ms', 232],
  ['world.arc.wear_V_per_start', 0.011],
  ['world.arc.wear_V_per_min', 0.15],
  ['world.arc.used_starts', 51],
  ['world.arc.used_min', 0.7],
  ['world.arc.double_arc_V', 0],
  ['world.arc.double_arcs_per_s', 0.09],
  ['world.arc.double_arc_ms', 15],
  ['world.arc.jump_V', 0.7],
  ['world.arc.jump_rate_per_s', 1.5],
  ['world.arc.jump_ms', 14],
  ['world.arc.source_lag_ms', 2.5],
  ['world.arc.contact_start_ms', 84],
  ['world.arc.pilot_jump_V', 9.8],
  ['world.arc.pilot_wander_V_rms', 1.8],
  ['world.arc.pilot_persists_ms', 80],
  ['world.arc.strike_delay_ms', 145],
  ['world.arc.strike_fail_chance', 0.18],
  ['world.noise.white_V_rms_per_tick', 0.57],
  ['world.noise.coloured_V_rms', 0.18],
  ['world.noise.coloured_corner_Hz', 8.4],
  ['world.noise.ripple_V_peak', 27.3],
  ['world.noise.inverter_V_peak', 1],
  ['world.noise.pickup_V_peak', 2.1],
  ['world.noise.impulse_rate_per_s', 6],
  ['world.noise.impulse_V', 50],
  ['machine.axis.steps_per_mm', 398.4],
  ['machine.axis.backlash_um', 59],
  ['machine.head.bounce_ms', 10],
  ['machine.head.arm_Hz', 0],
  ['machine.head.arm_damping', 0.1],
  ['machine.divider.gain_error', -0.0003],
  ['machine.converter.wide_counts', 0],
  ['machine.converter.zero_drift_counts_per_s', -0.21],
  ['machine.converter.rail_drift_percent_per_s', -0.004],
  ['machine.supply.no_load_V', 251],
  ['machine.supply.pilot_V', 127],
  ['machine.supply.phases', 3],
  ['machine.supply.mains_Hz', 60],
  ['machine.table.x_steps_per_mm', 160.53],
  ['machine.table.y_steps_per_mm', 160.19],
  ['machine.table.torch_off_mm_s', 100],
  ['machine.firing.relay_close_ms', 6],
  ['box.mains_Hz', 60],
  ['box.arc_high_V', 194],
  ['box.arc_on_ms', 25],
  ['box.pierce_height_mm', 3.38],
  ['box.pierce_ms', 658],
  ['box.cut_height_mm', 1.47],
  ['box.settle_ms', 23],
  ['box.arc_slope_V_per_mm', 7.39],
  ['box.gain_p_per_s', 18.4],
  ['box.gain_i_per_s2', 192],
  ['box.reversal_um', 42],
  ['box.up_band_mm', 1.64],
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
    expect({ seed, drawn: Object.entries(values) }).toEqual({ seed: 307103326, drawn: CASE_11_OF_7 });
  });

  it('lies within the ranges, anywhere in the unit cube', () => {
    const unit = fc.double({ min: 0, max: 1, noNaN: true });
    fc.assert(
      fc.property(fc.array(unit, { minLength: unitCount(ranges), maxLength: unitCount(ranges) }), (units) => {
        const one = caseAt(space, units, 1);
        for (const { path, low, high, share_of, at_most, at_least, none_below } of ranges.numbers) {
          const value = one.values[path];
          if (share_of || at_most || at_least || value === undefined || (none_below && value === 0)) continue;
          expect(value, path).toBeGreaterThanOrEqual(low);
          expect(value, path).toBeLessThanOrEqual(high);
        }
        expect(relationsKept(setup, ranges, one.values)).toBe(true);
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
    for (const { path, low, high, share_of } of ranges.numbers) {
      if (share_of || low === high) continue;
      const values = cases.map((one) => one.values[path]).filter((value) => value !== undefined);
      const near = 0.02 * (high - low);
      expect(Math.min(...values), path).toBeLessThanOrEqual(low + near);
      expect(Math.max(...values), path).toBeGreaterThanOrEqual(high - near);
    }
  });

  it('has a box that was told another slope than the arc has, by up to 30 % either way, and a window above its arc', () => {
    const shares = Array.from({ length: 2000 }, (_, index) => {
      const { values } = caseOf(space, 1, index);
      const [volts, crossing, feed] = ['voltage_at_cut_V', 'crossing_V', 'feed_effect_V'].map(
        (n) => values[`world.arc.${n}`],
      );
      expect(values['box.arc_high_V']).toBeGreaterThanOrEqual(volts + crossing + feed + 27);
      expect(crossing).toBeLessThanOrEqual(10 * values['world.arc.slope_V_per_mm'] + 1e-9);
      const steepest = (2 * Math.PI * values['world.sheet.wave_mm']) / values['world.sheet.wave_length_mm'];
      expect(steepest).toBeLessThanOrEqual(0.1 + 1e-9);
      return values['box.arc_slope_V_per_mm'] / values['world.arc.slope_V_per_mm'];
    });
    expect(Math.min(...shares)).toBeCloseTo(0.7, 1);
    expect(Math.max(...shares)).toBeCloseTo(1.3, 1);
  });

  it('has the parameters of the box drawn in half of the cuts, and as they are in the others', () => {
    const drawn = Array.from({ length: 2000 }, (_, index) => caseOf(space, 1, index)).filter(
      ({ values }) => values['box.pierce_ms'] !== undefined,
    );
    expect(drawn.length / 2000).toBeCloseTo(0.5, 1);
    expect(caseScenario(setup, drawn[0], SHORT_CUTS[0]).setup.box.pierce_ms).toBe(drawn[0].values['box.pierce_ms']);
  });

  it('can be written down as a stored run and read again', () => {
    for (let index = 0; index < 200; index++) {
      const scenario = caseScenario(setup, caseOf(space, 3, index), SHORT_CUTS[0]);
      expect(readScenario(writeScenario(scenario), 'case.yaml')).toEqual(scenario);
    }
  });

  it('has the setup’s own value in every range', () => {
    for (const { path, low, high, nominal, share_of } of ranges.numbers) {
      if (share_of) continue;
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

  it('that name a parameter of the box leave the others as the setup has them, and draw this one in every cut', () => {
    const changed = change('pierce_ms=100:900');
    for (let index = 0; index < 50; index++) {
      const { values } = caseOf({ setup, ranges: changed, duration_s: 12 }, 1, index);
      expect(values['box.pierce_ms']).toBeGreaterThanOrEqual(100);
      expect(values['box.gain_p_per_s']).toBeUndefined();
    }
  });

  it('by default leave out what would contradict the setup', () => {
    const tight = { ...setup, box: { ...setup.box, pierce_height_mm: 1.6 } };
    const around = rangesAround(tight);
    const drawn = around.numbers.map(({ path }) => path);
    expect(drawn).not.toContain('box.pierce_height_mm');
    expect(drawn).not.toContain('box.cut_height_mm');
    expect(drawn).toContain('box.gain_p_per_s');
    expect(() => refuseContradictingRanges(around, tight)).not.toThrow();
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
