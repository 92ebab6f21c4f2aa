import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  DEFAULT_MACHINE,
  DEFAULT_WORLD,
  FAULT_ROWS,
  type Fault,
  MACHINE_ROWS,
  type Row,
  WORLD_ROWS,
  World,
  withValues,
} from '../../../sim/world/plant/index.js';

/** A run with everything on: strike, a square with a crossing, Z steps that follow the standoff. */
function fingerprint(seed: number, faults: readonly Fault[] = []): string {
  const machine = withValues(DEFAULT_MACHINE, { 'axis.z_start_mm': 4 });
  const world = new World(machine, { ...DEFAULT_WORLD, faults }, seed);
  let hash = 0;
  let x_mm = 50;
  let y_mm = 50;
  let path_mm = 0;
  for (let tick = 0; tick < 6000; tick++) {
    const side = Math.floor(tick / 600) % 4;
    const direction_x = tick < 500 ? 0 : [1, 0, -1, 0][side];
    const direction_y = tick < 500 ? 0 : [0, 1, 0, -1][side];
    x_mm += direction_x * 0.05;
    y_mm += direction_y * 0.05;
    if (tick >= 500) path_mm += 0.05;
    const steps = Math.max(-8, Math.min(8, Math.round((1.5 - world.cells.head.standoff_mm) * 20)));
    world.place(x_mm, y_mm, tick < 500 ? 0 : 50, path_mm, direction_x, direction_y);
    world.advance(steps, 1, 1);
    for (const code of world.readings) hash = (Math.imul(hash, 31) + code) | 0;
  }
  const { head, arc, wires, axis } = world.cells;
  return [hash, arc.true_V, head.torch_mm, head.plate_mm, arc.starts, wires.contacts, axis.lost_steps].join(' ');
}

/** A value of a row from a fraction 0…1, so that failing cases shrink to the small end. */
function rowValue(row: Row, part: number): number | boolean {
  if (row.kind === 'boolean') return part >= 0.5;
  if (row.choices) return row.choices[Math.min(row.choices.length - 1, Math.floor(part * row.choices.length))];
  const value = row.min + part * (row.max - row.min);
  return row.integer ? Math.round(value) : value;
}

const section = (rows: readonly Row[]) =>
  fc
    .array(fc.integer({ min: 0, max: 100 }), { minLength: rows.length, maxLength: rows.length })
    .map((parts) => Object.fromEntries(rows.map((row, n) => [row.path, rowValue(row, parts[n] / 100)])));

const fault: fc.Arbitrary<Fault> = fc.record({
  kind: fc.constantFrom(...FAULT_ROWS.map((row) => row.kind)),
  at_s: fc.integer({ min: 0, max: 400 }).map((ms) => ms / 1000),
  for_s: fc.integer({ min: 1, max: 400 }).map((ms) => ms / 1000),
});

const hour = fc.record({
  steps: fc.integer({ min: -60, max: 60 }),
  trigger: fc.integer({ min: 0, max: 1 }),
  owned: fc.integer({ min: 0, max: 1 }),
  feed: fc.integer({ min: 0, max: 400 }),
  turn: fc.integer({ min: 0, max: 7 }),
  ticks: fc.integer({ min: 1, max: 250 }),
});

describe('the world', () => {
  it('gives the same readings and places for the same seed, and others for another', () => {
    expect(fingerprint(11)).toBe(fingerprint(11));
    expect(fingerprint(11)).not.toBe(fingerprint(12));
  });

  it('is not changed by a fault that comes after the end', () => {
    expect(fingerprint(11, [{ kind: 'open-lead', at_s: 100 }])).toBe(fingerprint(11));
    expect(fingerprint(11, [{ kind: 'open-lead', at_s: 3 }])).not.toBe(fingerprint(11));
  });

  it('gives ten readings a tick and counts its milliseconds', () => {
    const world = new World(DEFAULT_MACHINE, DEFAULT_WORLD, 1);
    world.place(0, 0, 0, 0, 0, 0);
    for (let n = 0; n < 5; n++) world.advance(0, 0, 0);
    expect([world.readings.length, world.tick]).toEqual([10, 5]);
  });

  it('stays finite and within its converter for any configuration of the rows, faults and inputs', () => {
    const run = fc.tuple(
      section(MACHINE_ROWS),
      section(WORLD_ROWS),
      fc.array(fault, { maxLength: 4 }),
      fc.array(hour, { minLength: 1, maxLength: 6 }),
      fc.integer(),
    );
    fc.assert(
      fc.property(run, ([machine_values, world_values, faults, hours, seed]) => {
        const machine = withValues(DEFAULT_MACHINE, machine_values);
        const world = new World(machine, { ...withValues(DEFAULT_WORLD, world_values), faults }, seed);
        const most = 2 ** machine.converter.bits - 1;
        let x_mm = 10;
        let y_mm = 10;
        let path_mm = 0;
        let starts = 0;
        for (const { steps, trigger, owned, feed, turn, ticks } of hours) {
          const direction_x = [1, Math.SQRT1_2, 0, -Math.SQRT1_2, -1, -Math.SQRT1_2, 0, Math.SQRT1_2][turn];
          const direction_y = [0, Math.SQRT1_2, 1, Math.SQRT1_2, 0, -Math.SQRT1_2, -1, -Math.SQRT1_2][turn];
          for (let n = 0; n < ticks; n++) {
            x_mm += (direction_x * feed) / 1000;
            y_mm += (direction_y * feed) / 1000;
            path_mm += feed / 1000;
            world.place(x_mm, y_mm, feed, path_mm, direction_x, direction_y);
            world.advance(steps, trigger, owned);
            for (const code of world.readings) if (!(code <= most)) return false;
            const numbers = [
              world.cells.head.torch_mm,
              world.cells.head.plate_mm,
              world.cells.arc.true_V,
              world.cells.sensing.sensed_V,
              world.cells.axis.carriage_mm,
            ];
            numbers.push(world.cells.axis.lost_steps, world.cells.axis.ignored_steps);
            if (!numbers.every(Number.isFinite)) return false;
            if (!(world.cells.head.standoff_mm >= 0 && world.cells.arc.missing >= 0 && world.cells.arc.missing <= 1))
              return false;
            if (world.cells.arc.starts < starts || (world.cells.arc.burning === 1 && world.cells.arc.starts === 0))
              return false;
            starts = world.cells.arc.starts;
          }
        }
        const top_mm = machine.axis.z_top_mm + machine.axis.overtravel_mm;
        const bottom_mm = machine.axis.z_top_mm - machine.axis.travel_mm;
        const moved = hours.some((part) => part.steps !== 0 && part.owned === 1);
        // A torch that begins outside its stops is put inside by its first step.
        return (
          !moved ||
          (world.cells.axis.carriage_mm <= Math.max(top_mm, machine.axis.z_start_mm) + 1 &&
            world.cells.axis.carriage_mm >= Math.min(bottom_mm, machine.axis.z_start_mm) - 1)
        );
      }),
      { numRuns: 300 },
    );
  });
});
