import { PARAMETER_COUNT } from '../../firmware/wire/codes.gen.js';
import {
  OUTPUT_BYTES,
  OUTPUT_TRIGGER,
  SET_DONE,
  SET_NOT_NOW,
  SET_RANGE,
  SET_UNKNOWN,
} from '../../firmware/wire/layout.gen.js';
import { ANSWER, layoutRow, placed, STATUS_ROWS } from '../../firmware/wire/link-rows.js';
import { placedOutputs } from '../../firmware/wire/tick-rows.js';
import { StandoffError } from '../base/index.js';
import { decodeLayout, encodeLayout, type Frame } from '../link/index.js';
import type { Controller, ControllerOutput } from '../run/controller/index.js';
import type { EmulatedBoard } from './board.js';
import type { Alarm } from './chip/index.js';
import { LinkPort, serviceCode } from './link-port.js';
import { BoardMilliseconds, type Stimulus } from './milliseconds.js';

const { fields } = placed(layoutRow('telemetry'));
const at = (name: string): number => fields.find((field) => field.name === name)!.offset;

const AT_TICK = at('tick');
const AT_Z_STEPS = at('z_steps');
const AT_DIGITAL_OUTPUTS = at('digital_outputs');
const AT_CYCLES = at('cycles');

/** Telemetry field and place in the output block, of one type. */
const places = (type: string) =>
  placedOutputs()
    .rows.filter((row) => row.telemetry && !row.at_pins && row.type === type)
    .map(({ name, offset }) => [at(name), offset / 4] as const);
const U8 = places('u8');
const I32 = places('i32');
const F32 = places('f32');

/** The last row of telemetry. */
class TelemetryRow {
  tick = -1;
  /** What the module asked for in that tick; the pins may say something else. */
  z_steps = 0;
  digital_outputs = 0;
  /** Length of the tick, processor cycles, to 4. */
  cycles = 0;
  /** Rows that never came, by the gaps in their numbers. */
  lost = 0;

  /** Takes a row; fills the fields of the output block that it carries. */
  take(payload: Uint8Array, output: ControllerOutput): void {
    const view = new DataView(payload.buffer, payload.byteOffset);
    const tick = view.getUint32(AT_TICK, true);
    if (this.tick >= 0 && tick > this.tick + 1) this.lost += tick - this.tick - 1;
    this.tick = tick;
    this.z_steps = view.getInt16(AT_Z_STEPS, true);
    this.digital_outputs = view.getUint8(AT_DIGITAL_OUTPUTS);
    this.cycles = 4 * view.getUint16(AT_CYCLES, true);
    const { integers, reals } = output;
    for (const [from, to] of U8) integers[to] = view.getUint8(from);
    for (const [from, to] of I32) integers[to] = view.getInt32(from, true);
    for (const [from, to] of F32) reals[to] = view.getFloat32(from, true);
  }
}

const MS_ns = 1e6;
/** Default speed of the line while it controls, bit/s. */
const BAUD = 921_600;
/** From power-up to the first tick: boot ROM, the loader's time to listen, start of the image. */
const START_ns = 1e9;
const VALUES_PER_FRAME = 32;
/** Attempts to align with the ticks, of eight ticks each. */
const ALIGNMENTS = 10;
/** So many after each other must find the rows as near to their ticks as before. */
const STOOD = 3;
/** A ping keeps the agreed speed. It goes out every so many ticks, in mid-tick, so that it delays no row. */
const PING_TICKS = 400;
const PING_AFTER_ns = 400_000;

const ROW_SERVICE = serviceCode('telemetry-row') | ANSWER;

const status = (name: string): number => STATUS_ROWS.find((row) => row.name === name)!.code;
const DONE = status('done');
const RANGE = status('range');
const NO_SUCH_ID = status('id');

/** How the emulated board is started. */
export interface EmulatedControllerOptions {
  /** INPUT_* while the board starts. */
  readonly digital_inputs?: number;
  /** Speed to agree on, bit/s. */
  readonly baud?: number;
}

/**
 * The box, emulated, as a controller of the simulated loop. One call of `tick` is one millisecond of the board, from
 * 10 µs before one of its ticks to 10 µs before the next:
 *
 * - the lines are on the pins when the board samples them for the tick at the millisecond's beginning, and what that
 *   tick puts on its pins is what `digital_outputs` says afterwards: as fast as in this process. The trigger is pulses seen; where
 *   its pin only fell, which may be half a pulse or the end of the train, the tick's telemetry says which;
 * - the readings and the X and Y steps are played during the millisecond, so they are in the board's next tick: a
 *   millisecond later than in this process;
 * - `z_steps` counts the pulses of the millisecond. The board begins a tick's steps a little after the tick (its own
 *   computing time), so the last sixth or so of them comes with the next call.
 *
 * The loop through the board is therefore about a millisecond slower than the one in this process. All other outputs
 * are the telemetry of that same tick, which has come over the line within the millisecond.
 */
export class EmulatedController implements Controller {
  readonly readings: Uint16Array;
  readonly output: ControllerOutput;
  readonly stimulus: Stimulus;
  readonly link: LinkPort;
  readonly telemetry = new TelemetryRow();
  readonly module_sha256: string;
  /** INPUT_*, INPUT_RELAY among them; what the board itself says of a tick has no pin. */
  digital_inputs = 0;
  x_steps = 0;
  y_steps = 0;
  z_steps = 0;
  digital_outputs = 0;
  /** Calls in which the tick's row of telemetry did not come in time: the outputs are those of the tick before. */
  late_rows = 0;
  /** Calls in which the trigger's pin rose though the tick's telemetry says that it is off. */
  odd_triggers = 0;

  private readonly milliseconds: BoardMilliseconds;
  private readonly baud: number;
  /** Numbers of the board's ticks less those of the entries counted: a row never comes before its tick. */
  private tick_offset = Number.NEGATIVE_INFINITY;
  private until_ping = 0;
  private readonly ping: Alarm;
  private readonly values = new Float32Array(PARAMETER_COUNT);
  private readonly staged = new Map<number, number>();
  private uncommitted = false;

  /**
   * Lets the board start, agrees on the speed of the line and asks for every tick's telemetry.
   * @throws StandoffError board-silent
   */
  constructor(
    readonly board: EmulatedBoard,
    options: EmulatedControllerOptions = {},
  ) {
    this.baud = options.baud ?? BAUD;
    const bytes = new ArrayBuffer(OUTPUT_BYTES);
    this.output = { integers: new Int32Array(bytes), reals: new Float32Array(bytes) };
    this.milliseconds = new BoardMilliseconds(board);
    this.stimulus = this.milliseconds.stimulus;
    this.readings = this.stimulus.readings;
    this.link = new LinkPort(board);
    this.ping = board.chip.clock.createAlarm(() => this.link.send('ping'));
    this.link.onFrame = (frame) => this.take(frame);
    board.pins.setLines(options.digital_inputs ?? 0);
    board.runUntil(() => board.tick.count > 0, START_ns);
    const identity = decodeLayout('identity', this.link.ask('identity').payload);
    this.module_sha256 = Buffer.from(identity!.values.module_sha256 as Uint8Array).toString('hex');
    this.listen();
    this.readParameters();
    this.comeIntoStep();
  }

  /** Asks for the line's speed and the telemetry; also after a restart of the board. */
  listen(): void {
    this.tick_offset = Number.NEGATIVE_INFINITY;
    this.link.ask('line-speed', encodeLayout('line_speed', { baud: this.baud }));
    this.board.run(MS_ns);
    this.link.ask('telemetry', encodeLayout('telemetry_request', { every_ms: 1 }));
  }

  tick(): void {
    if (this.uncommitted) this.commit();
    const { milliseconds } = this;
    if (--this.until_ping < 0) {
      this.until_ping = PING_TICKS;
      this.ping.schedule(PING_AFTER_ns);
    }
    milliseconds.advance(this.digital_inputs, this.x_steps, this.y_steps);
    this.z_steps = milliseconds.z_steps;
    if (!this.in_time) this.late_rows++;
    this.digital_outputs = this.judged(this.in_time);
  }

  get reference(): number {
    return this.stimulus.reference;
  }
  set reference(counts: number) {
    this.stimulus.reference = counts;
  }

  /**
   * Aligns to shortly before a tick once every row has arrived: earlier answers have delayed some, and these come nearer to their
   * tick by 0.15 ms each, once the answers have left.
   */
  private comeIntoStep(): void {
    let stood = 0;
    for (let n = 0; n < ALIGNMENTS && stood < STOOD; n++) {
      const { tick_offset } = this;
      this.milliseconds.align();
      stood = this.in_time && this.tick_offset === tick_offset ? stood + 1 : 0;
    }
  }

  private get in_time(): boolean {
    return this.telemetry.tick === this.board.tick.count + this.tick_offset;
  }

  private judged(in_time: boolean): number {
    const { trigger_rose, trigger_fell, digital_outputs } = this.milliseconds;
    const said = (this.telemetry.digital_outputs & OUTPUT_TRIGGER) !== 0;
    if (trigger_rose && in_time && !said) this.odd_triggers++;
    const ended = trigger_fell && !trigger_rose && in_time && !said;
    return ended ? digital_outputs & ~OUTPUT_TRIGGER : digital_outputs;
  }

  setParameter(id: number, value: number): number {
    const single = Math.fround(value);
    if (id >= 0 && id < PARAMETER_COUNT && (this.staged.get(id) ?? this.values[id]) === single) return SET_DONE;
    const stage = this.link.ask('parameters-stage', encodeLayout('values', {}, [{ id, value }]));
    const answer = stage.status === DONE ? this.link.ask('parameters-check').status : stage.status;
    if (answer === RANGE) return SET_RANGE;
    if (answer === NO_SUCH_ID) return SET_UNKNOWN;
    // Together with values that are still to come it may be no contradiction: the commit decides.
    if (stage.status !== DONE) return SET_NOT_NOW;
    this.staged.set(id, single);
    this.uncommitted = true;
    return SET_DONE;
  }

  parameter(id: number): number {
    return this.staged.get(id) ?? this.values[id];
  }

  /**
   * Takes the staged parameters into use: with the first tick after them, all at once.
   * @throws StandoffError parameters-refused
   */
  commit(): void {
    this.uncommitted = false;
    const answer = this.link.ask('parameters-commit', undefined, 2e9);
    if (answer.status !== DONE) {
      const reason = STATUS_ROWS[answer.status]?.meaning ?? `status ${answer.status}`;
      const staged = decodeLayout('staged', answer.payload);
      const id = staged === undefined ? '' : ` (parameter ${staged.values.id})`;
      throw new StandoffError(
        'parameters-refused',
        `the emulated box refuses the parameters: ${reason}${id}`,
        'correct them',
      );
    }
    for (const [id, value] of this.staged) this.values[id] = value;
    this.staged.clear();
    this.comeIntoStep();
  }

  private readParameters(): void {
    for (let first = 0; first < PARAMETER_COUNT; first += VALUES_PER_FRAME) {
      const span = encodeLayout('span', { first, count: VALUES_PER_FRAME });
      const answer = decodeLayout('values', this.link.ask('parameters-read', span).payload);
      for (const { id, value } of answer?.records ?? []) this.values[id as number] = value as number;
    }
  }

  private take(frame: Frame): void {
    if (frame.service !== ROW_SERVICE) return;
    this.telemetry.take(frame.payload, this.output);
    this.tick_offset = Math.max(this.tick_offset, this.telemetry.tick - this.board.tick.count);
  }
}
