/**
 * Random runs with tight bounds: what a default box never comes near (floor, dive, retries, bounds of holds) is met in them, by hands
 * that press within milliseconds of each other, faults and a sheet that leans. A number gives always the same run.
 */
import { Random } from '../../sim/base/index.js';
import { OPERATOR_LINES, type OperatorEvent } from '../../sim/run/loop/index.js';
import { FAULT_ROWS } from '../../sim/world/plant/index.js';
import type { Changes } from '../run/loop/cut.js';

/** Chance, parameter, values. */
const BOX: readonly (readonly [number, string, readonly number[]])[] = [
  [0.5, 'floor_allowance_mm', [0, 0.1, 0.3]],
  [0.5, 'slope_limit', [0, 0.01, 0.03]],
  [0.3, 'dive_mm', [1, 2]],
  [0.2, 'standstill_s', [1]],
  [0.3, 'strike_ms', [300, 600]],
  [0.4, 'strike_retries', [0, 1, 3]],
  [0.3, 'pierce_ms', [0, 200, 700]],
  [0.2, 'arc_longest_s', [1, 3]],
  [0.3, 'external_path_mm', [3, 10]],
  [0.3, 'crossing_ms', [50, 150]],
  [0.3, 'crossing_path_mm', [1, 3]],
  [0.3, 'follow_down_mm_s', [3, 20]],
  [0.3, 'z_acceleration_mm_s2', [100, 300]],
  [0.2, 'z_velocity_mm_s', [12, 25]],
  [0.2, 'corner_fraction', [0, 0.9]],
  [0.3, 'target_learned', [0]],
  [0.2, 'supply_contact', [1]],
  [0.2, 'hold_carried', [0]],
  [0.2, 'fall_ms', [100, 300]],
  [0.2, 'stray_ms', [100, 300]],
  [0.2, 'settle_ms', [0, 300]],
  [0.2, 'up_band_mm', [0.3]],
  [0.2, 'wrong_way_mm', [1, 5]],
  [0.2, 'crossing_band_mm', [0]],
  [0.2, 'crossing_rise_mm_per_s', [0]],
];
const NOISE = { 'noise.white_V_rms_per_tick': 1, 'noise.ripple_V_peak': 2, 'noise.impulse_rate_per_s': 5 };
const KEY: OperatorEvent = { at_s: 0.2, line: 'key', on: true };
const ACTIONS_MOST = 10;
const FAULTS_MOST = 2;

const inMs = (at_s: number): number => Math.round(at_s * 1000) / 1000;

/** Draws one thing after the other. */
class Draw extends Random {
  pick<T>(list: readonly T[]): T {
    return list[Math.floor(this.between(0, list.length))]!;
  }

  box(): Record<string, number> {
    const box: Record<string, number> = {};
    for (const [chance, name, values] of BOX) if (this.chance(chance)) box[name] = this.pick(values);
    return box;
  }

  world(): Record<string, number> {
    const noise = this.chance(0.5) ? NOISE : {};
    return {
      ...noise,
      'sheet.tilt_x': this.between(-0.09, 0.06),
      'sheet.tilt_y': this.between(-0.09, 0.06),
      'sheet.wave_mm': this.chance(0.5) ? this.between(0, 2.5) : 0,
      'sheet.wave_length_mm': this.pick([80, 150, 250]),
      'arc.crossing_V': this.pick([10, 25, 40, 80]),
      'arc.strike_fail_chance': this.chance(0.3) ? 0.5 : 0,
      'arc.voltage_at_cut_V': this.between(112, 126),
      'arc.slope_V_per_mm': this.between(3, 5),
    };
  }

  operator(): readonly OperatorEvent[] {
    let at_s = this.between(0.5, 20);
    const actions = Math.floor(this.between(0, ACTIONS_MOST));
    const events = [KEY];
    for (let action = 0; action < actions; action++) {
      at_s += this.pick([0.001, 0.005, 0.02, 0.031, 0.1, 0.5, 2]);
      events.push({ at_s: inMs(at_s), line: this.pick(OPERATOR_LINES), on: this.chance(0.5) });
    }
    if (this.chance(0.3)) events.push(...this.reset());
    return events.sort((a, b) => a.at_s - b.at_s);
  }

  /** Request off, reset, request on again, key off and on. */
  private reset(): readonly OperatorEvent[] {
    const from_s = this.between(9, 14);
    const event = (after_s: number, line: OperatorEvent['line'], on: boolean) => ({
      at_s: inMs(from_s + after_s),
      line,
      on,
    });
    const request_s = this.pick([0.01, 0.06]);
    return [
      ...[event(0, 'request', false), event(0.002, 'reset', true), event(0.05, 'reset', false)],
      ...[event(request_s, 'request', true), event(0.3, 'key', false), event(0.6, 'key', true)],
    ];
  }

  faults(): NonNullable<Changes['faults']> {
    const faults = [];
    while (this.chance(0.45) && faults.length < FAULTS_MOST) {
      const kind = this.pick(FAULT_ROWS).kind;
      faults.push({ kind, at_s: this.between(0, 18), for_s: this.pick([0.002, 0.02, 0.1, 0.5, 3, 20]) });
    }
    return faults;
  }
}

/** @param programs of which one is cut */
export function tightRun(
  seed: number,
  programs: readonly string[],
): { name: string; program: string; changes: Changes } {
  const draw = new Draw(seed);
  const box = draw.box();
  const world = draw.world();
  const operator = draw.operator();
  const faults = draw.faults();
  const program = draw.pick(programs);
  const machine: Changes['machine'] = draw.chance(0.2) ? { 'table.permit_watched': false } : {};
  return { name: `tight bounds ${seed}`, program, changes: { seed, box, world, machine, operator, faults } };
}
