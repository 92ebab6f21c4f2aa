import { describe, expect, it } from 'vitest';
import { FAULT_ROWS } from '../../../firmware/wire/code-rows.js';
import { PARAMETER_ROWS } from '../../../firmware/wire/parameter-rows.js';
import { Judge, requirementContext } from '../../../sim/judge/index.js';
import { type Advice, adviceFor } from '../../../sim/views/terminal/index.js';
import { contour, fault, made, type RunChange, requirement } from './made-run.js';

const only = (change: RunChange): Advice => {
  const advice = adviceFor(made(change));
  expect(advice).toHaveLength(1);
  return advice[0];
};

const cornerDive = { requirements: [requirement('corner-dive', -0.12)], figures: { corner_dive_mm: 0.42 } };
const crossingDive = {
  requirements: [requirement('kerf-crossing-dive', -0.5)],
  figures: { kerf_crossing_dive_mm: 0.7 },
};
const wander = {
  requirements: [requirement('following-rms', -0.05)],
  figures: {
    standoff_error_rms_mm: 0.11,
    contours: [contour(0, 12), contour(1, 30, { standoff_error_worst_mm: 0.34 })],
  },
};

describe('advice', () => {
  it('is not given when nothing went wrong', () => {
    expect(adviceFor(made())).toEqual([]);
  });

  it('for a corner dive names the lockout that is off, with the value that turns it on', () => {
    const advice = only({ ...cornerDive, parameters: { corner_fraction: 0 } });
    expect(advice.what).toBe('The torch dived at a corner: 0.42 mm, 0.12 mm more than the goal.');
    expect(advice.parameter).toBe('corner_fraction');
    expect(advice.do).toBe('Set corner_fraction to 0.9; it is off.');
  });

  it.each([
    [{ feed_effect_V: 0 }, 'feed_effect_V', 'it is off'],
    [{ corner_fraction: 0.5 }, 'corner_fraction', 'Raise corner_fraction towards 0.9: '],
    [{ corner_path_mm: 2 }, 'corner_path_mm', 'Raise corner_path_mm towards 10: '],
    [{ feed_effect_learned: 0 }, 'feed_effect_learned', 'Set feed_effect_learned to 1'],
    [{}, 'feed_effect_V', 'Measure how far the voltage rises'],
  ])('for a corner dive with %j points to %s', (parameters, parameter, act) => {
    const advice = only({ ...cornerDive, parameters });
    expect(advice.parameter).toBe(parameter);
    expect(advice.do).toContain(act);
  });

  it.each([
    [{ crossing_rise_mm_per_s: 0 }, 'crossing_rise_mm_per_s', 'it is off'],
    [{ crossing_rise_mm_per_s: 300 }, 'crossing_rise_mm_per_s', 'Lower crossing_rise_mm_per_s towards'],
    [{ crossing_band_mm: 0 }, 'crossing_band_mm', 'it is off'],
    [{ hold_carried: 0 }, 'hold_carried', 'Set hold_carried to 1'],
    [{}, 'follow_down_mm_s', 'Lower follow_down_mm_s'],
  ])('for a dive at a crossing with %j points to %s', (parameters, parameter, act) => {
    const advice = only({ ...crossingDive, parameters });
    expect(advice.what).toContain('0.70 mm, 0.50 mm more than the goal');
    expect(advice.parameter).toBe(parameter);
    expect(advice.do).toContain(act);
  });

  it.each([
    [{ gain_p_per_s: 5 }, 'gain_p_per_s', 'Raise gain_p_per_s'],
    [{ gain_p_per_s: 60 }, 'gain_p_per_s', 'Lower gain_p_per_s'],
    [{}, 'arc_slope_V_per_mm', 'Measure the arc voltage'],
  ])('for a wandering standoff with %j points to %s', (parameters, parameter, act) => {
    const advice = only({ ...wander, parameters });
    expect(advice.what).toContain('0.110 mm rms');
    expect(advice.what).toContain('worst 0.34 mm in the contour of line 30');
    expect(advice.parameter).toBe(parameter);
    expect(advice.do).toContain(act);
  });

  it('turns a mean error into the target that removes it: error times slope', () => {
    // 0.15 mm too high at 4 V/mm: 0.6 V less.
    const advice = only({
      figures: { standoff_error_mean_mm: 0.15 },
      parameters: { target_learned: 0, target_V: 118, arc_slope_V_per_mm: 4 },
    });
    expect(advice.what).toBe('The torch rides 0.15 mm too high on average.');
    expect(advice.parameter).toBe('target_V');
    expect(advice.do).toBe('Set target_V to 117.4 V, -0.6 V.');
    const low = only({ figures: { standoff_error_mean_mm: -0.15 }, parameters: { target_learned: 0, target_V: 118 } });
    expect(low.do).toBe('Set target_V to 118.6 V, +0.6 V.');
  });

  it('reads nothing from a mean error or from Z at its limit when the torch dived, which explains both', () => {
    const figures = { ...cornerDive.figures, standoff_error_mean_mm: -0.2, velocity_limited_share: 0.2 };
    expect(only({ ...cornerDive, figures }).what).toContain('The torch dived at a corner');
  });

  it('sends a mean error under a learned target to the touch-off, not to the target', () => {
    const advice = only({ figures: { standoff_error_mean_mm: 0.15 }, parameters: { target_learned: 1 } });
    expect(advice.parameter).toBe('touch_offset_mm');
    expect(advice.do).toContain('by +0.15 mm');
  });

  it('names the speed limit instead of the gain when Z could not go faster', () => {
    const advice = only({ ...wander, figures: { ...wander.figures, velocity_limited_share: 0.2 } });
    expect(advice.what).toContain('20.0 %');
    expect(advice.parameter).toBe('follow_down_mm_s');
  });

  it.each([
    [{ reversal_um: 5 }, 'reversal_um', 'Raise reversal_um towards 30'],
    [{ gain_p_per_s: 30 }, 'gain_p_per_s', 'Lower gain_p_per_s towards'],
    [{}, 'smoothing_ms', 'raise smoothing_ms'],
  ])('for a restless Z with %j points to %s', (parameters, parameter, act) => {
    const advice = only({ figures: { reversals_per_s: 31.4 }, parameters });
    expect(advice.what).toBe('Z reverses 31.4 times a second.');
    expect(advice.parameter).toBe(parameter);
    expect(advice.do).toContain(act);
  });

  it('for lost steps points to what the motor is asked for', () => {
    const advice = only({ figures: { lost_steps: 12 } });
    expect(advice.what).toBe('Z lost 12 steps.');
    expect(advice.parameter).toBe('z_acceleration_mm_s2');
  });

  it('for a firing contact that opens late sends to the relay, not to a parameter', () => {
    const advice = only({
      requirements: [requirement('relay-release', -30, { unit: 'ms' })],
      figures: { relay_release_ms: 39 },
    });
    expect(advice.what).toBe('The firing contact took 39 ms to open.');
    expect(advice.parameter).toBe('');
  });

  it('is given for every quality goal that can be missed', () => {
    const run = made();
    const results = new Judge(requirementContext(run.parameters)).results(run.figures);
    const goals = results.filter(({ kind }) => kind === 'goal');
    expect(goals.length).toBeGreaterThan(4);
    for (const goal of goals) only({ requirements: [{ ...goal, kept: false, margin: -1 }] });
  });

  it('for contacts names the cause that used up the cut height', () => {
    const crossing = only({
      figures: { contacts: 1, kerf_crossing_dive_mm: 1.5 },
      parameters: { crossing_rise_mm_per_s: 0 },
    });
    expect(crossing.what).toBe('The torch hit the sheet: 1 contact.');
    expect(crossing.parameter).toBe('crossing_rise_mm_per_s');
    const corner = only({ figures: { contacts: 3, corner_dive_mm: 1.5 }, parameters: { corner_fraction: 0 } });
    expect(corner.parameter).toBe('corner_fraction');
    expect(only({ figures: { contacts: 1 } }).parameter).toBe('floor_allowance_mm');
    const parked = only({
      figures: { contacts: 1 },
      requirements: [requirement('no-contact', 1, { kind: 'requirement' })],
    });
    expect(parked.what).toBe('The torch hit the sheet: 1 contact, while the box did not own Z.');
    expect(parked.do).toContain('park the torch higher');
    const lost = adviceFor(made({ figures: { contacts: 1, lost_steps: 9 } }));
    expect(lost.map(({ parameter }) => parameter)).toEqual(['z_acceleration_mm_s2', 'z_acceleration_mm_s2']);
  });
});

describe('advice on faults and endings', () => {
  it('for an arc that never starts says what to look at and the pierce height', () => {
    const advice = only({ figures: { faults: [fault(6, 'no-arc')] } });
    expect(advice.what).toContain('Fault no-arc, in line 31 at 0:12, 0.4 V');
    expect(advice.parameter).toBe('pierce_height_mm');
    expect(advice.do).toContain('work clamp');
  });

  it('for an arc lost in a contour that crosses a kerf points to the release time and the window', () => {
    const crossed = contour(1, 30, { holds: [{ cause: 'crossing', count: 1, time_s: 0.1, length_mm: 4 }] });
    const lost = fault(7, 'arc-lost');
    const advice = only({ figures: { faults: [lost], contours: [contour(0, 12), crossed] } });
    expect(advice.parameter).toBe('arc_off_ms');
    expect(advice.do).toContain('arc_high_V');
    // A crossing in another contour explains nothing.
    const elsewhere = only({ figures: { faults: [lost], contours: [{ ...crossed, contour: 0 }, contour(1, 30)] } });
    expect(elsewhere.parameter).toBe('target_V');
  });

  it('for an error that grows over a kerf points to the lockout of crossings, otherwise to the slope', () => {
    const faults = [fault(16, 'wrong-way')];
    const [over_kerf] = adviceFor(
      made({ ...crossingDive, figures: { faults }, parameters: { crossing_rise_mm_per_s: 0 } }),
    );
    expect(over_kerf.what).toContain('Fault wrong-way');
    expect(over_kerf.parameter).toBe('crossing_rise_mm_per_s');
    expect(only({ figures: { faults } }).parameter).toBe('arc_slope_V_per_mm');
  });

  it('tells a fault that repeats once, with how often', () => {
    const advice = only({ figures: { faults: [fault(6, 'no-arc'), fault(6, 'no-arc', { line: 60 })] } });
    expect(advice.what).toContain('2 times, first in line 31');
  });

  it('has something to look at for every fault of the table, and only real parameters', () => {
    const names = PARAMETER_ROWS.map(({ name }) => name);
    for (const row of FAULT_ROWS.slice(1)) {
      const advice = only({ figures: { faults: [fault(row.code, row.name)] } });
      expect(advice.what).toContain(row.meaning);
      expect(advice.do.length).toBeGreaterThan(20);
      if (advice.parameter !== '') expect(names).toContain(advice.parameter);
    }
  });

  it('never advises to raise what counts as near zero when there is voltage at rest', () => {
    const advice = only({ figures: { faults: [fault(12, 'voltage-at-rest')] } });
    expect(advice.parameter).toBe('');
    expect(advice.do).toContain('Switch the supply off at the mains');
  });

  const stopped = { outcome: { ended: 'stopped', reason: 'no motion permit within 15 s', line: 12 } } as const;

  it('for a permit that never came although an arc burned points to the arc window', () => {
    const advice = only({ run: stopped, figures: { following_s: 0 } });
    expect(advice.what).toContain('no motion permit within 15 s');
    expect(advice.parameter).toBe('arc_low_V');
  });

  it('for a program that stopped without any arc points to key, stop chain and homing', () => {
    const advice = only({ run: stopped, figures: { arc_on_s: 0, following_s: 0 } });
    expect(advice.what).toContain('no arc ever burned');
    expect(advice.do).toContain('arm key');
  });

  it('leaves the ending to the fault that explains it', () => {
    expect(only({ run: stopped, figures: { faults: [fault(7, 'arc-lost')] } }).what).toContain('arc-lost');
  });

  it('says of a run that was broken off what it was waiting for is to be looked up', () => {
    const advice = only({ run: { outcome: { ended: 'limit', reason: 'it took too long', line: 3 } } });
    expect(advice.what).toBe('The program ended in line 3: it took too long.');
  });

  it('for a broken requirement says not to run the box, whatever else is wrong', () => {
    const requirements = [requirement('trigger-path', -1, { kind: 'requirement', number: 3 })];
    const advice = only({ requirements });
    expect(advice.what).toBe('1 requirement broken: trigger-path.');
    expect(advice.do).toContain('Do not run this box with an arc');
  });
});
