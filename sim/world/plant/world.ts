import { READINGS_PER_TICK } from '../../base/index.js';
import { WorldInstance } from '../cells/index.js';
import type { MachineConfig, WorldConfig } from './config.gen.js';
import { Faults } from './faults.js';
import { giveAll, REFERENCE_COUNTS, sensingOf } from './given.js';

/**
 * Sheet, torch, supply and sensing as one world, in the world module, that is moved on by a millisecond at a time. It does
 * not know what controls it. One seed gives the same readings, bit for bit, on every engine. What it is doing stands in the
 * cells; see sim/world/cells.
 */
export class World {
  /** Milliseconds that `advance` has let go by. */
  tick = 0;
  readonly cells: WorldInstance['cells'];
  private readonly faults: Faults;

  /**
   * @param seed any 32-bit integer. Values outside the rows' ranges are not checked here.
   * @param instance takes the maps of the sheet into its memory, last of all; without it, one of the world's own
   * @throws StandoffError `fault-…`
   */
  constructor(
    private readonly machine: MachineConfig,
    private readonly world: WorldConfig,
    seed: number,
    private readonly instance: WorldInstance = new WorldInstance(),
  ) {
    this.faults = new Faults(world.faults);
    this.cells = instance.cells;
    giveAll(instance, machine, world, seed);
    instance.give('sensing', sensingOf(machine, world, this.faults));
  }

  /** Converter counts taken at 10 kHz during the last millisecond, oldest first. */
  get readings(): Uint16Array {
    return new Uint16Array(this.instance.buffer, this.instance.input_at, READINGS_PER_TICK);
  }

  /**
   * Where the table will be at the end of the coming millisecond, and how it goes there.
   * @param path_mm length of the path in X/Y since the start of the run, never falling
   * @param direction_x and direction_y unit vector of the motion, or (0, 0) at rest
   */
  place(
    x_mm: number,
    y_mm: number,
    feed_mm_s: number,
    path_mm: number,
    direction_x: number,
    direction_y: number,
  ): void {
    this.instance.module.move_to(x_mm, y_mm, feed_mm_s, path_mm, direction_x, direction_y);
  }

  /**
   * One millisecond, to the place that was given last.
   * @param z_steps signed, up positive; @param trigger the box's trigger output, 0 or 1
   * @param z_owned 0: the multiplexer lets no step of the box through
   */
  advance(z_steps: number, trigger: number, z_owned: number): void {
    this.turnFaults(this.tick++);
    this.instance.module.advance_plant(z_steps, trigger, z_owned);
  }

  /** Tick in which the next fault begins or ends; `turnFaults` is due before it. */
  get next_fault_tick(): number {
    // A fault is there at the end of its tick.
    return this.faults.next_tick - 1;
  }

  /** Applies every change that is due in a tick; before the tick. */
  turnFaults(tick: number): void {
    if (tick < this.next_fault_tick) return;
    const { faults, cells } = this;
    faults.turn(tick + 1);
    const on = (kind: Parameters<Faults['has']>[0]): number => (faults.has(kind) ? 1 : 0);
    const { axis, head, firing, arc, supply, wires } = cells;
    firing.welded = on('welded-relay');
    firing.latched = on('latching-trigger');
    firing.hand = on('hand-on-trigger');
    axis.lost_share = on('lost-steps') * faults.valueOf('lost-steps');
    axis.reversed = on('reversed-direction');
    axis.unpowered = on('unpowered-axis');
    head.stuck = on('stuck-touch-switch');
    head.stuck_state = faults.valueOf('stuck-touch-switch') >= 0.5 ? 1 : 0;
    head.never_closes = on('touch-never-closes');
    if (faults.has('breakaway')) head.in_holder = 0;
    arc.never_starts = on('arc-never-starts');
    arc.goes_out = on('arc-goes-out');
    arc.to_renew = on('new-consumables');
    arc.renewed_V = faults.valueOf('new-consumables');
    supply.contact_missing = on('missing-supply-contact');
    wires.dead_x_tap = on('dead-x-step-tap');
    wires.dead_y_tap = on('dead-y-step-tap');
    wires.stuck_readback = on('stuck-readback');
    wires.stuck_readback_state = faults.valueOf('stuck-readback') >= 0.5 ? 1 : 0;
    wires.reference_counts = faults.has('reference-off')
      ? Math.round(faults.valueOf('reference-off'))
      : REFERENCE_COUNTS;
    wires.late_tick = on('late-tick');
    this.instance.give('sensing', sensingOf(this.machine, this.world, faults));
    cells.sensing.interruption_chance = on('intermittent-contact') * (faults.valueOf('intermittent-contact') / 1000);
  }
}
