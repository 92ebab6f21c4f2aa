import {
  INPUT_BREAKAWAY,
  INPUT_HOLD,
  INPUT_KEY,
  INPUT_RELAY,
  INPUT_REQUEST,
  INPUT_RESET,
  INPUT_STOP_CHAIN,
  INPUT_SUPPLY_CONTACT,
  INPUT_TOP,
  INPUT_TOUCH,
  OUTPUT_LATCHED_STOP,
  OUTPUT_PERMIT,
  OUTPUT_TRIGGER,
  OUTPUT_Z_OWNED,
} from '../../../firmware/wire/layout.gen.js';
import { StandoffError } from '../../base/index.js';
import {
  type BoardInputs,
  type BoardWorld,
  type EmulatedBoard,
  LineServer,
  type PinMillisecond,
  runRealTime,
} from '../../emulator/index.js';
import { MotionPlayer, MotionState, type Plan, STOP_REASON_TEXTS } from '../../world/motion/index.js';
import { World } from '../../world/plant/index.js';
import type { Setup } from '../setup/index.js';

/** What the hand at a practice table can do; each turns its switch. */
const HANDS = {
  key: INPUT_KEY,
  stop: INPUT_STOP_CHAIN,
  hold: INPUT_HOLD,
  reset: INPUT_RESET,
} as const;
/** A switch at a practice table. */
export type Hand = keyof typeof HANDS;

/** Homing holds the top switch for this long, ms: time for a box that was just switched on. Then the key, then the program. */
const HOMED_MS = 600;
const KEY_AT_MS = 700;
const START_AT_MS = 900;

/**
 * A virtual table with a sheet on it, for a box that may be switched on, flashed and started again at any time. It cuts
 * the program when told to, each time on a new sheet.
 */
export class PracticeTable {
  /** INPUT_* for the coming millisecond. */
  digital_inputs = INPUT_STOP_CHAIN | INPUT_BREAKAWAY;
  x_steps = 0;
  y_steps = 0;
  /** The world of the sheet on the table, with its readings. */
  world: World;
  /** Number of cuts begun. */
  cuts = 0;
  private hand = INPUT_STOP_CHAIN;
  private player: MotionPlayer | undefined;
  private ms = 0;
  private path_mm = 0;

  constructor(
    private readonly setup: Setup,
    private readonly plan: Plan,
    private readonly seed: number,
  ) {
    this.world = this.newWorld();
    this.update();
  }

  /** Turns a switch to its other position. */
  turn(hand: Hand): void {
    this.hand ^= HANDS[hand];
    this.update();
  }

  isOn(hand: Hand): boolean {
    return (this.hand & HANDS[hand]) !== 0;
  }

  /** A new sheet; the key off and on again, Z homed, and the program from its beginning. */
  cut(): void {
    const { table } = this.setup.machine;
    this.cuts++;
    this.world = this.newWorld();
    this.player = new MotionPlayer(this.plan, {
      steps_per_mm: table.x_steps_per_mm,
      permit_use: table.permit_watched ? 'watched' : 'start-only',
    });
    this.hand &= ~INPUT_KEY;
    this.ms = 0;
    this.path_mm = 0;
    this.update();
  }

  /** A program is being cut. */
  get cutting(): boolean {
    return this.player !== undefined && this.player.table.state < MotionState.stopped;
  }

  /** What the table does, in words. */
  get words(): string {
    const { player } = this;
    if (player === undefined) return 'the table waits';
    const { state, line, stop_reason } = player.table;
    if (state === MotionState.finished) return 'the program has come to its end';
    if (state === MotionState.stopped) return `the program stopped at line ${line}: ${STOP_REASON_TEXTS[stop_reason]}`;
    if (state === MotionState.waitingForPermit) return `line ${line}: the table waits for the motion permit`;
    return `the program is at line ${line}, ${Math.floor(100 * player.progress)} %`;
  }

  /**
   * Advances by a millisecond.
   * @param z_steps steps that the box gave, up positive
   * @param digital_outputs OUTPUT_* at the box's outputs
   */
  advance(z_steps: number, digital_outputs: number): void {
    const { world, player } = this;
    this.ms++;
    if (player !== undefined) {
      if (this.ms === KEY_AT_MS) this.hand |= INPUT_KEY;
      if (this.ms >= START_AT_MS)
        player.advance((digital_outputs & OUTPUT_PERMIT) !== 0, (digital_outputs & OUTPUT_LATCHED_STOP) !== 0);
      const { x_mm, y_mm, feed_mm_s, dx, dy, x_steps, y_steps } = player.table;
      this.path_mm += feed_mm_s / 1000;
      const moving = feed_mm_s > 0 ? 1 : 0;
      world.place(x_mm, y_mm, feed_mm_s, this.path_mm, moving * dx, moving * dy);
      this.x_steps = x_steps * world.cells.wires.x_tap;
      this.y_steps = y_steps * world.cells.wires.y_tap;
    }
    world.advance(z_steps, digital_outputs & OUTPUT_TRIGGER, (digital_outputs & OUTPUT_Z_OWNED) !== 0 ? 1 : 0);
    this.update();
  }

  private newWorld(): World {
    return new World(this.setup.machine, this.setup.world, this.seed + this.cuts);
  }

  private update(): void {
    const { world, player } = this;
    const { wires } = world.cells;
    const bit = (on: boolean, line: number) => (on ? line : 0);
    this.digital_inputs =
      this.hand |
      bit(player?.table.torch_request === 1, INPUT_REQUEST) |
      bit(wires.touch !== 0, INPUT_TOUCH) |
      bit(wires.breakaway !== 0, INPUT_BREAKAWAY) |
      bit(wires.readback !== 0, INPUT_RELAY) |
      bit(wires.contact !== 0, INPUT_SUPPLY_CONTACT) |
      bit(wires.top !== 0 || (player !== undefined && this.ms < HOMED_MS), INPUT_TOP);
  }
}

/** What open pins of the converter read: anything; these are far from what a wired box has. */
const FLOATING = { arc_counts: 500, reference_counts: 700 };

/** An emulated board in real time, with a practice table at its pins and its serial line on a TCP port. */
export class PracticeBox implements BoardWorld {
  /** Emulated time, ms. */
  now_ms = 0;
  /** OUTPUT_* of the last millisecond; the trigger is on if pulses were seen. */
  digital_outputs = 0;
  port = 0;
  private readonly server: LineServer;

  /** Nothing is wired to the board: no input has current, the converter's pins float. */
  private readonly bare: boolean;

  /** @param usb its own port, with the cable plugged in, instead of its serial line */
  constructor(
    readonly board: EmulatedBoard,
    readonly table: PracticeTable,
    { bare = false, usb = false }: { readonly bare?: boolean; readonly usb?: boolean } = {},
  ) {
    this.bare = bare;
    this.server = new LineServer(board, usb ? board.usb : board);
    if (usb) board.usb.plug();
  }

  /** @throws StandoffError `port-taken`, `port-refused` */
  async listen(port: number): Promise<void> {
    try {
      this.port = await this.server.listen(port);
    } catch (error) {
      const { code = 'unknown error' } = error as NodeJS.ErrnoException;
      const what = `TCP port ${port} of this computer`;
      if (code === 'EADDRINUSE') {
        throw new StandoffError('port-taken', `${what} is taken`, 'give another one with --listen; 0 is any free one');
      }
      throw new StandoffError('port-refused', `${what} cannot be used (${code})`, 'give another one with --listen');
    }
  }

  /** Runs until the signal aborts. */
  async run(signal: AbortSignal): Promise<void> {
    await runRealTime(this.board, this, { signal, onMillisecond: () => this.server.flush() });
  }

  /** Gives the port back. */
  close(): Promise<void> {
    return this.server.close();
  }

  /** Power off and on: memory and watchdog lose their contents, the flash keeps them. */
  powerCycle(): void {
    this.board.powerCut();
    this.board.powerUp();
  }

  millisecond(said: PinMillisecond, inputs: BoardInputs): void {
    const { table } = this;
    if (this.now_ms++ > 0) table.advance(said.z_steps, said.digital_outputs);
    this.digital_outputs = said.digital_outputs;
    if (this.bare) {
      inputs.readings.fill(FLOATING.arc_counts);
      inputs.reference = FLOATING.reference_counts;
      inputs.digital_inputs = table.isOn('key') ? INPUT_KEY : 0;
      return;
    }
    inputs.readings.set(table.world.readings);
    inputs.digital_inputs = table.digital_inputs;
    inputs.x_steps = table.x_steps;
    inputs.y_steps = table.y_steps;
  }
}
