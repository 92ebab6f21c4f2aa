import { TICKS_PER_S } from '../base/index.js';
import { ARC_BURNING, ARC_OUT, Arc } from './arc.js';
import { Axis } from './axis.js';
import { Faults, faultNumber } from './faults.js';
import { Firing } from './firing.js';
import { Head } from './head.js';
import { KerfMap } from './kerf.js';
import type { MachineConfig } from './machine-config.js';
import { Noise } from './noise.js';
import { Plate } from './plate.js';
import { Sensing } from './sensing.js';
import { DutyWindow, inputCurrent_A } from './supply.js';
import type { WorldConfig } from './world-config.js';

const WELDED = faultNumber('welded-relay');
const LATCHED = faultNumber('latching-trigger');
const HAND = faultNumber('hand-on-trigger');
const LOST = faultNumber('lost-steps');
const REVERSED = faultNumber('reversed-direction');
const STUCK_TOUCH = faultNumber('stuck-touch-switch');
const NEVER_CLOSES = faultNumber('touch-never-closes');
const BREAKAWAY = faultNumber('breakaway');
const NEVER_STARTS = faultNumber('arc-never-starts');
const GOES_OUT = faultNumber('arc-goes-out');
const UNPOWERED = faultNumber('unpowered-axis');
const NO_CONTACT = faultNumber('missing-supply-contact');

/**
 * Table, sheet, torch, supply and sensing as one world that is moved on by a millisecond at a time. It
 * does not know what controls it. One seed gives the same readings, bit for bit, on every engine.
 */
export class World {
  /** Converter counts taken at 10 kHz during the last millisecond, oldest first; the array stays the same. */
  readonly readings: Uint16Array;
  /** Milliseconds that have gone by. */
  tick = 0;
  /** Touch-off switch, 1 = closed. */
  touch = 0;
  /** Top-of-travel switch, 1 = closed. */
  top = 0;
  /** Breakaway switch, 1 = head in its holder. */
  breakaway = 1;
  /** The supply's own arc-OK contact, 1 = closed. */
  supply_contact = 0;
  /** Firing contact, 1 = closed. */
  relay = 0;
  /** 1 while the arc burns on the work (not the pilot arc). */
  arc_burning = 0;
  /** Tip above the true surface, mm; 0 while they touch, never negative. */
  standoff_mm = 0;
  /** Height of the true surface under the nozzle, mm above datum; beyond an edge, of the sheet continued. */
  plate_mm = 0;
  /** Height of the torch tip, mm above datum; while it rests on the sheet the carriage may be lower. */
  torch_mm = 0;
  /** Height of the carriage, as that of a tip hanging free, mm. */
  carriage_mm = 0;
  /** Voltage between electrode and work, without noise, V. */
  arc_V = 0;
  /** What an ideal converter behind the filter would report, V. */
  sensed_V = 0;
  /** Episodes in which tip and work met while the trigger was on, the arc burnt or X/Y moved. */
  contacts = 0;
  lost_steps = 0;
  ignored_steps = 0;
  /** Arcs transferred to the work, and the time they burnt. */
  starts = 0;
  arc_on_ms = 0;
  /** Share of missing metal that the arc meets, 0…1. */
  missing_metal = 0;
  /** 1 while the arc meets metal that this run removed earlier. */
  crossing = 0;
  /** 1 while the torch is past the sheet's edge. */
  off_sheet = 0;
  /** Current from the mains, A. */
  input_A = 0;
  /** Arc time in the last ten minutes, % of them; renewed once a second. */
  duty_percent = 0;

  private readonly faults: Faults;
  private readonly plate: Plate;
  private readonly kerf: KerfMap;
  private readonly axis: Axis;
  private readonly head: Head;
  private readonly firing: Firing;
  private readonly arc: Arc;
  private readonly noise: Noise;
  private readonly sensing: Sensing;
  private readonly duty = new DutyWindow();
  private readonly input_A_per_V: number;
  private readonly contact_delay_ms: number;
  private contact_wait_ms = 0;
  private contact_missing = 0;
  private last_x_mm = Infinity;
  private last_y_mm = Infinity;
  private in_contact = 0;
  private second_left = TICKS_PER_S;
  private on_ms_before = 0;

  /** @param seed any 32-bit integer. Values outside the rows' ranges are not checked here. */
  constructor(machine: MachineConfig, world: WorldConfig, seed: number) {
    this.faults = new Faults(world.faults);
    this.plate = new Plate(machine, world, seed);
    this.kerf = new KerfMap(machine, world);
    this.axis = new Axis(machine);
    this.head = new Head(machine, world, seed);
    this.firing = new Firing(machine);
    this.arc = new Arc(machine, world, seed);
    this.noise = new Noise(machine, world, seed);
    this.sensing = new Sensing(machine, world, seed);
    this.readings = this.sensing.readings;
    this.input_A_per_V = inputCurrent_A(1, machine.supply.cut_A, machine.supply);
    this.contact_delay_ms = machine.supply.contact_delay_ms;
    this.carriage_mm = this.axis.carriage_mm;
    this.torch_mm = this.axis.carriage_mm;
    this.standoff_mm = this.torch_mm;
  }

  /**
   * One millisecond. All places are those at its end.
   * @param z_steps signed, up positive; @param trigger the box's trigger output, 0 or 1
   * @param z_owned 0: the multiplexer lets no step of the box through
   * @param path_mm length of the path in X/Y since the start of the run, never falling
   * @param direction_x and direction_y unit vector of the motion, or (0, 0) at rest
   */
  advance(
    z_steps: number,
    trigger: number,
    z_owned: number,
    x_mm: number,
    y_mm: number,
    feed_mm_s: number,
    path_mm: number,
    direction_x: number,
    direction_y: number,
  ): void {
    const { axis, head, plate, arc, kerf } = this;
    this.tick++;
    if (this.tick >= this.faults.next_tick) this.applyFaults();
    const moved = x_mm !== this.last_x_mm || y_mm !== this.last_y_mm ? 1 : 0;
    const moving = moved !== 0 && this.last_x_mm !== Infinity ? 1 : 0;
    this.last_x_mm = x_mm;
    this.last_y_mm = y_mm;

    axis.advance(z_steps, z_owned);
    plate.advance(x_mm, y_mm, moved, this.arc_burning);
    head.advance(axis.carriage_mm, plate.surface_mm, x_mm, plate.off_sheet, moving);
    const standoff_mm = head.torch_mm - head.plate_mm;
    this.standoff_mm = Math.max(standoff_mm, 0);

    this.firing.advance(trigger, this.arc_burning);
    const call = this.firing.call;
    if (arc.state !== ARC_OUT || call !== 0) {
      kerf.advance(x_mm, y_mm, path_mm, feed_mm_s, direction_x, direction_y, this.arc_burning);
    } else {
      kerf.rest();
    }
    const before_V = arc.arc_V;
    arc.advance(call, this.standoff_mm, feed_mm_s, kerf.missing, plate.beyond_mm);
    const burning = arc.state === ARC_BURNING ? 1 : 0;

    const slow_before_V = this.noise.coloured_V;
    this.noise.advance();
    this.sensing.take(before_V, arc.arc_V, arc.state === ARC_OUT ? 0 : 1, this.noise, slow_before_V);
    this.noise.rectifier.advance();
    this.noise.inverter.advance();

    this.countContact(burning | call | moving, head.touching);
    this.supplyContact(burning);
    this.arc_burning = burning;
    this.crossing = kerf.removed > 0 ? burning : 0;
    this.publish();
    if (--this.second_left === 0) this.closeSecond();
  }

  private publish(): void {
    const { axis, head, plate, arc } = this;
    this.touch = head.touch;
    this.breakaway = head.breakaway;
    this.top = axis.top;
    this.relay = this.firing.relay;
    this.plate_mm = head.plate_mm;
    this.torch_mm = head.torch_mm;
    this.carriage_mm = axis.carriage_mm;
    this.arc_V = arc.arc_V;
    this.sensed_V = this.sensing.sensed_V;
    this.lost_steps = axis.lost_steps;
    this.ignored_steps = axis.ignored_steps;
    this.starts = arc.starts;
    this.arc_on_ms = arc.on_ms;
    this.missing_metal = arc.missing;
    this.off_sheet = plate.off_sheet;
    this.input_A = this.arc_burning * arc.arc_V * this.input_A_per_V;
  }

  private countContact(counts: number, touching: number): void {
    if (touching === 0) this.in_contact = 0;
    else if (counts !== 0 && this.in_contact === 0) {
      this.in_contact = 1;
      this.contacts++;
    }
  }

  private supplyContact(burning: number): void {
    if (burning === this.supply_contact) this.contact_wait_ms = 0;
    else if (this.contact_wait_ms >= this.contact_delay_ms) this.supply_contact = burning;
    else this.contact_wait_ms++;
    if (this.contact_missing !== 0) this.supply_contact = 0;
  }

  private closeSecond(): void {
    this.second_left = TICKS_PER_S;
    this.duty.second(this.arc.on_ms - this.on_ms_before);
    this.on_ms_before = this.arc.on_ms;
    this.duty_percent = this.duty.percent;
  }

  private applyFaults(): void {
    const { faults, axis, head, firing, arc } = this;
    faults.turn(this.tick);
    const { present, value } = faults;
    firing.welded = present[WELDED]!;
    firing.latched = present[LATCHED]!;
    firing.hand = present[HAND]!;
    axis.lost_share = present[LOST]! * value[LOST]!;
    axis.reversed = present[REVERSED]!;
    axis.unpowered = present[UNPOWERED]!;
    head.stuck = present[STUCK_TOUCH]!;
    head.stuck_state = value[STUCK_TOUCH]! >= 0.5 ? 1 : 0;
    head.never_closes = present[NEVER_CLOSES]!;
    if (present[BREAKAWAY] === 1) head.breakaway = 0;
    arc.never_starts = present[NEVER_STARTS]!;
    arc.goes_out = present[GOES_OUT]!;
    this.contact_missing = present[NO_CONTACT]!;
    this.sensing.apply(faults);
  }
}
