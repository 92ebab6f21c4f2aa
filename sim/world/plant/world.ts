import { READINGS_PER_TICK, TICKS_PER_S } from '../../base/index.js';
import { ARC_BURNING, ARC_OUT, Arc } from './arc.js';
import { Axis, Head } from './axis.js';
import type { MachineConfig, WorldConfig } from './config.gen.js';
import { Faults, faultNumber } from './faults.js';
import { KerfMap } from './kerf.js';
import { Noise } from './noise.js';
import { Plate } from './plate.js';
import { Sensing } from './sensing.js';
import { SIGNAL, SIGNAL_COUNT } from './signals.js';
import { DutyWindow, Firing, inputCurrent_A } from './supply.js';

// The engine folds constants of this module but not imported ones, hence the local names.
const AT = SIGNAL;
const BURNING = ARC_BURNING;
const OUT = ARC_OUT;

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
const DEAD_X_TAP = faultNumber('dead-x-step-tap');
const DEAD_Y_TAP = faultNumber('dead-y-step-tap');
const STUCK_READBACK = faultNumber('stuck-readback');
const REFERENCE_OFF = faultNumber('reference-off');
const LATE_TICK = faultNumber('late-tick');

/** The board's own reference, halved, in a converter of 12 bits. */
const REFERENCE_COUNTS = 2048;

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
  /** Taps of the X and Y step lines, 1 = the box counts the table's steps. */
  x_tap = 1;
  y_tap = 1;
  /** Firing contact, 1 = closed. */
  relay = 0;
  /** What its readback says. */
  readback = 0;
  /** What the converter reads of the board's own reference. */
  reference = REFERENCE_COUNTS;
  /** 1 while the box's ticks come late. */
  late = 0;
  /** 1 while the arc burns on the work (not the pilot arc). */
  arc_burning = 0;
  /** Episodes in which tip and work met while the trigger was on, the arc burnt or X/Y moved. */
  contacts = 0;
  lost_steps = 0;
  ignored_steps = 0;
  /** Arcs transferred to the work, and the time they burnt. */
  starts = 0;
  arc_on_ms = 0;
  /** 1 while the arc meets metal that this run removed earlier. */
  crossing = 0;
  /** 1 while the torch is past the sheet's edge. */
  off_sheet = 0;
  /** Arc time in the last ten minutes, % of them; renewed once a second. */
  duty_percent = 0;

  private readonly signals = new Float64Array(SIGNAL_COUNT);
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
  /** State that the readback keeps; -1: it follows the contact. */
  private readback_stuck = -1;
  private placed = 0;
  private moved = 0;
  private in_contact = 0;
  private second_left = TICKS_PER_S;
  private on_ms_before = 0;

  /**
   * @param seed any 32-bit integer. Values outside the rows' ranges are not checked here.
   * @param readings where the readings go: ten places, of the controller's own if it likes
   */
  constructor(
    machine: MachineConfig,
    world: WorldConfig,
    seed: number,
    readings: Uint16Array = new Uint16Array(READINGS_PER_TICK),
  ) {
    this.faults = new Faults(world.faults);
    this.plate = new Plate(machine, world, seed);
    this.kerf = new KerfMap(machine, world);
    this.axis = new Axis(machine, this.signals);
    this.head = new Head(machine, world, seed);
    this.firing = new Firing(machine);
    this.arc = new Arc(machine, world, seed);
    this.noise = new Noise(machine, world, seed);
    this.sensing = new Sensing(machine, world, seed, readings);
    this.readings = readings;
    this.input_A_per_V = inputCurrent_A(1, machine.supply.cut_A, machine.supply);
    this.contact_delay_ms = machine.supply.contact_delay_ms;
    this.signals[AT.torch_mm] = machine.axis.z_start_mm;
    this.signals[AT.standoff_mm] = machine.axis.z_start_mm;
    this.top = this.axis.top;
  }

  /** Tip above the true surface, mm; 0 while they touch, never negative. */
  get standoff_mm(): number {
    return this.signals[AT.standoff_mm];
  }

  /** Height of the true surface under the nozzle, mm above datum; beyond an edge, of the sheet continued. */
  get plate_mm(): number {
    return this.signals[AT.plate_mm];
  }

  /** Height of the torch tip, mm above datum; while it rests on the sheet the carriage may be lower. */
  get torch_mm(): number {
    return this.signals[AT.torch_mm];
  }

  /** Height of the carriage, as that of a tip hanging free, mm. */
  get carriage_mm(): number {
    return this.signals[AT.carriage_mm];
  }

  /** Voltage between electrode and work, without noise, V. */
  get true_V(): number {
    return this.signals[AT.true_V];
  }

  /** What an ideal converter behind the filter would report, V. */
  get sensed_V(): number {
    return this.signals[AT.sensed_V];
  }

  /** Share of missing metal that the arc feels, 0…1. */
  get missing_metal(): number {
    return this.signals[AT.missing];
  }

  /** Current from the mains, A. */
  get input_A(): number {
    return this.arc_burning * this.signals[AT.true_V] * this.input_A_per_V;
  }

  /**
   * Where the table will be at the end of the coming millisecond, and how it goes there. Apart from `advance` and
   * small, so that the engine builds it into the caller: numbers handed to a large function are boxed.
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
    const { signals } = this;
    this.moved = x_mm !== signals[AT.x_mm] || y_mm !== signals[AT.y_mm] ? 1 : 0;
    signals[AT.x_mm] = x_mm;
    signals[AT.y_mm] = y_mm;
    signals[AT.feed_mm_s] = feed_mm_s;
    signals[AT.path_mm] = path_mm;
    signals[AT.direction_x] = direction_x;
    signals[AT.direction_y] = direction_y;
  }

  /**
   * One millisecond, to the place that was given last.
   * @param z_steps signed, up positive; @param trigger the box's trigger output, 0 or 1
   * @param z_owned 0: the multiplexer lets no step of the box through
   */
  advance(z_steps: number, trigger: number, z_owned: number): void {
    const { signals, axis, head, plate, arc, kerf, noise } = this;
    this.tick++;
    if (this.tick >= this.faults.next_tick) this.applyFaults();
    const { moved } = this;
    const moving = moved & this.placed;
    this.moved = 0;

    axis.advance(signals, z_steps, z_owned);
    plate.advance(signals, moved | (1 - this.placed), this.arc_burning);
    this.placed = 1;
    head.advance(signals, plate.off_sheet, moving);

    this.firing.advance(trigger, this.arc_burning);
    const call = this.firing.call;
    if (arc.state !== OUT || call !== 0) kerf.advance(signals, this.arc_burning);
    else kerf.rest(signals);
    signals[AT.before_V] = signals[AT.true_V];
    arc.advance(signals, call);
    const burning = arc.state === BURNING ? 1 : 0;

    noise.advance(signals);
    this.sensing.take(signals, arc.state === OUT ? 0 : 1, noise);

    this.countContact(burning | call | moving, head.touching);
    this.supplyContact(burning);
    this.arc_burning = burning;
    this.crossing = signals[AT.removed] > 0 ? burning : 0;
    this.relay = this.firing.relay;
    this.readback = this.readback_stuck < 0 ? this.relay : this.readback_stuck;
    this.touch = head.touch;
    this.breakaway = head.breakaway;
    this.top = axis.top;
    this.off_sheet = plate.off_sheet;
    this.lost_steps = axis.lost_steps;
    this.ignored_steps = axis.ignored_steps;
    this.starts = arc.starts;
    this.arc_on_ms = arc.on_ms;
    if (--this.second_left === 0) this.closeSecond();
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
    firing.welded = present[WELDED];
    firing.latched = present[LATCHED];
    firing.hand = present[HAND];
    axis.lost_share = present[LOST] * value[LOST];
    axis.reversed = present[REVERSED];
    axis.unpowered = present[UNPOWERED];
    head.stuck = present[STUCK_TOUCH];
    head.stuck_state = value[STUCK_TOUCH] >= 0.5 ? 1 : 0;
    head.never_closes = present[NEVER_CLOSES];
    if (present[BREAKAWAY] === 1) head.breakaway = 0;
    arc.never_starts = present[NEVER_STARTS];
    arc.goes_out = present[GOES_OUT];
    this.contact_missing = present[NO_CONTACT];
    this.x_tap = 1 - present[DEAD_X_TAP];
    this.y_tap = 1 - present[DEAD_Y_TAP];
    this.readback_stuck = present[STUCK_READBACK] === 0 ? -1 : value[STUCK_READBACK] >= 0.5 ? 1 : 0;
    this.reference = present[REFERENCE_OFF] === 0 ? REFERENCE_COUNTS : Math.round(value[REFERENCE_OFF]);
    this.late = present[LATE_TICK];
    this.sensing.apply(faults);
  }
}
