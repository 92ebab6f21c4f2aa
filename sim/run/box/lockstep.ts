import { setTimeout as pause } from 'node:timers/promises';
import {
  type CodeRow,
  FAULT_ROWS,
  HOLD_ROWS,
  MODE_ROWS,
  REFUSAL_ROWS,
  STAGE_ROWS,
} from '../../../firmware/wire/code-rows.js';
import * as wire from '../../../firmware/wire/layout.gen.js';
import { INPUT_BYTES, OUTPUT_BYTES } from '../../../firmware/wire/layout.gen.js';
import { LOCKSTEP_KEPT, PAYLOAD_MOST, STATUS_ROWS } from '../../../firmware/wire/link-rows.js';
import { PARAMETER_ROWS } from '../../../firmware/wire/parameter-rows.js';
import { placedOutputs } from '../../../firmware/wire/tick-rows.js';
import { Random, StandoffError } from '../../base/index.js';
import { readState, refusalOf, type Session, stateWords } from '../../link/index.js';
import { EXAMPLE_NAME, EXAMPLE_PROGRAM, parseProgram, planProgram } from '../../world/motion/index.js';
import { type ControlModule, WasmController } from '../controller/index.js';
import { ArbitraryInputs, motionLimits, Runner, setParameters } from '../loop/index.js';
import { type Box, exampleSetup } from '../setup/index.js';

/** Ticks of the module on the desk: input blocks, and its output blocks. */
export interface DeskTicks {
  readonly count: number;
  readonly inputs: Uint8Array;
  readonly outputs: Uint8Array;
}

/** Ticks from a power-up on. Before a leg both modules get their defaults, a power-up and then `box`. */
export interface DeskLeg {
  readonly box: Box;
  /** The next ticks, at most this many; fewer at the end of the leg, 0 after it. */
  next(ticks: number): DeskTicks;
}

/** The most ticks that are kept at a time. */
const CHUNK_TICKS = 1000;

/** The module on the desk, recording what goes in and what comes out. */
class Recorder extends WasmController {
  private readonly given = new Uint8Array(CHUNK_TICKS * INPUT_BYTES);
  private readonly answered = new Uint8Array(CHUNK_TICKS * OUTPUT_BYTES);
  private count = 0;

  override tick(): void {
    this.given.set(this.inputs, this.count * INPUT_BYTES);
    super.tick();
    const { buffer, byteOffset } = this.output.integers;
    this.answered.set(new Uint8Array(buffer, byteOffset, OUTPUT_BYTES), this.count * OUTPUT_BYTES);
    this.count++;
  }

  /** What was recorded since the last call. */
  taken(): DeskTicks {
    const { count } = this;
    this.count = 0;
    return {
      count,
      inputs: this.given.slice(0, count * INPUT_BYTES),
      outputs: this.answered.slice(0, count * OUTPUT_BYTES),
    };
  }
}

/** The example cut, simulated with the module on the desk; each seed is another sheet and other noise. */
export function cutLeg(module: ControlModule, seed: number): DeskLeg {
  const { box, machine, world } = exampleSetup();
  const plan = planProgram(parseProgram(EXAMPLE_PROGRAM, EXAMPLE_NAME), motionLimits(machine));
  const controller = new Recorder(module);
  controller.powerUp();
  const runner = new Runner({ box, machine, world, plan, seed, controller });
  return {
    box,
    next(ticks) {
      if (!runner.finished) runner.runBlock(Math.min(ticks, CHUNK_TICKS));
      return controller.taken();
    },
  };
}

/** Arbitrary inputs, readings and steps, from a power-up with the example's parameters; it never ends. */
export function randomLeg(module: ControlModule, seed: number): DeskLeg {
  const { box } = exampleSetup();
  const random = new Random(seed);
  const controller = new Recorder(module);
  controller.powerUp();
  setParameters(controller, box);
  const arbitrary = new ArbitraryInputs(random);
  return {
    box,
    next(ticks) {
      for (let left = Math.min(ticks, CHUNK_TICKS); left > 0; left--) {
        arbitrary.draw(controller);
        controller.tick();
      }
      return controller.taken();
    },
  };
}

/** Names of the codes, for the outputs that are codes. */
const CODES: Readonly<Record<string, readonly CodeRow[]>> = {
  mode: MODE_ROWS,
  stage: STAGE_ROWS,
  hold: HOLD_ROWS,
  fault: FAULT_ROWS,
  refusal: REFUSAL_ROWS,
};
const FIELDS = placedOutputs().rows;
type Field = (typeof FIELDS)[number];

/** The first difference between box and desk. */
export interface Difference {
  /** Tick of the block that was compared, from 0. */
  readonly tick: number;
  readonly field: string;
  readonly box: string;
  readonly desk: string;
}

/** Compares output blocks of the same ticks, byte for byte; undefined when they are the same. */
export function firstDifference(box: Uint8Array, desk: Uint8Array): Difference | undefined {
  const bytes = Math.min(box.length, desk.length);
  let at = 0;
  while (at < bytes && box[at] === desk[at]) at++;
  if (at === bytes) {
    if (box.length === desk.length) return undefined;
    const ticks = (length: number) => `${length / wire.OUTPUT_BYTES} ticks`;
    return { tick: at / wire.OUTPUT_BYTES, field: 'answer', box: ticks(box.length), desk: ticks(desk.length) };
  }
  const tick = Math.floor(at / wire.OUTPUT_BYTES);
  const place = at - tick * wire.OUTPUT_BYTES;
  const field = FIELDS.find((candidate) => place >= candidate.offset && place < candidate.offset + 4);
  const name = field?.name ?? `byte ${place} of the output block`;
  const value = (block: Uint8Array) => (field ? valueText(block, at - place, field) : `${block[at]}`);
  return { tick, field: name, box: value(box), desk: value(desk) };
}

function valueText(block: Uint8Array, from: number, { offset, name, type, unit }: Field): string {
  const view = new DataView(block.buffer, block.byteOffset + from + offset, 4);
  const bits = view.getUint32(0, true);
  if (unit === 'bits') return `0x${bits.toString(16)}`;
  if (type !== 'f32') {
    const code = view.getInt32(0, true);
    const row = CODES[name]?.[code];
    return row ? `${code} (${row.name})` : `${code}`;
  }
  // The bits as well: two different reals may print alike.
  return `${Math.fround(view.getFloat32(0, true))} (0x${bits.toString(16).padStart(8, '0')})`;
}

/** Ticks per request: their outputs fill an answer. */
const TICKS_A_REQUEST = Math.floor(PAYLOAD_MOST / wire.OUTPUT_BYTES);
/** The box repeats its last outputs when asked again: this many frames may be under way. */
const FRAMES_UNDER_WAY = Math.floor(LOCKSTEP_KEPT / TICKS_A_REQUEST);
const OUT_OF_PLACE = STATUS_ROWS.find(({ name }) => name === 'place')!.code;
const PLACE_TRIES = 100;
const PLACE_AGAIN_MS = 20;
const LOAD_DEFAULTS = -1;
const POWER_UP = -2;
/** The box gives up a session that was cut off after this long, ms. */
const STALE_MS = 2200;

/** How a lockstep ended. */
export interface LockstepResult {
  /** Ticks that were compared and the same. */
  readonly ticks: number;
  readonly difference: Difference | undefined;
  /** Time of the exchange alone, s. */
  readonly elapsed_s: number;
}

/** What box and desk are to run in lockstep, and who is told. */
export interface LockstepOptions {
  readonly ticks: number;
  /** The next leg, from 0 on. */
  readonly leg: (index: number) => DeskLeg;
  readonly onProgress?: (ticks: number, elapsed_s: number) => void;
  readonly signal?: AbortSignal;
}

/**
 * Runs the module in the box on the ticks of the desk and compares every byte of every output block, until one tick
 * differs or enough were the same.
 * @throws StandoffError when the box refuses (key on, not at rest), or the link is lost
 */
export async function runLockstep(session: Session, options: LockstepOptions): Promise<LockstepResult> {
  await begin(session);
  try {
    return await exchange(session, options);
  } catch (error) {
    throw await whyEnded(session, error);
  } finally {
    if (session.lost === '') await session.askAnyway('lockstep-end').catch(() => {});
  }
}

/** A box that ended lockstep by itself says only that none was begun: its state tells why. */
async function whyEnded(session: Session, error: unknown): Promise<unknown> {
  if (!(error instanceof StandoffError) || error.code !== 'box-not-begun') return error;
  const state = await readState(session);
  if (state === undefined) return error;
  if ((state.digital_inputs & wire.INPUT_KEY) !== 0) {
    const what = 'the arm key was turned on in the middle: the box has ended lockstep';
    return new StandoffError('box-key', what, 'turn the arm key off, then begin again');
  }
  if (state.tick < YOUNG_MS) {
    const what = `the box has started again in the middle, ${(state.tick / 1000).toFixed(1)} s ago: its power was gone, or its reset pressed`;
    return new StandoffError(
      'box-starting',
      what,
      'look at its power, then begin again; standoff box tells why it started',
    );
  }
  const what = `the box has ended lockstep: it stands ${stateWords(state)}`;
  return new StandoffError('box-not-begun', what, 'begin again');
}

/** A box that started later than this did so while it was compared, ms. */
const YOUNG_MS = 3000;

/** An earlier session may have ended without saying so. */
async function begin(session: Session): Promise<void> {
  try {
    await session.ask('lockstep-begin');
  } catch (error) {
    if ((error as { code?: string }).code !== 'box-lockstep') throw error;
    await pause(STALE_MS);
    await session.ask('lockstep-begin');
  }
}

async function exchange(session: Session, options: LockstepOptions): Promise<LockstepResult> {
  let ticks = 0;
  let elapsed_ms = 0;
  const result = (difference?: Difference): LockstepResult => ({ ticks, difference, elapsed_s: elapsed_ms / 1000 });
  for (let index = 0; ; index++) {
    const leg = options.leg(index);
    const refused = await prepare(session, leg.box);
    if (refused) return result({ ...refused, tick: ticks });
    for (;;) {
      const desk = leg.next(Math.min(CHUNK_TICKS, options.ticks - ticks));
      if (desk.count === 0) break;
      const began_ms = performance.now();
      const before = ticks;
      const difference = await exchangeChunk(session, desk, before, options.signal, (count) => {
        ticks = before + count;
        options.onProgress?.(ticks, (elapsed_ms + performance.now() - began_ms) / 1000);
      });
      elapsed_ms += performance.now() - began_ms;
      if (difference) return result({ ...difference, tick: ticks });
      if (options.signal?.aborted) return result();
    }
    if (ticks >= options.ticks) return result();
  }
}

/**
 * Compares some ticks of the desk in their order, with several frames under way.
 * @param first ticks that the box has run since lockstep began
 * @param onSame called with how many of these were the same so far
 */
async function exchangeChunk(
  session: Session,
  { count, inputs, outputs }: DeskTicks,
  first: number,
  signal: AbortSignal | undefined,
  onSame: (ticks: number) => void,
): Promise<Difference | undefined> {
  const under_way: { from: number; answer: Promise<Uint8Array> }[] = [];
  let next = 0;
  for (let from = 0; from < count; ) {
    while (next < count && under_way.length < FRAMES_UNDER_WAY && !signal?.aborted) {
      const end = Math.min(count, next + TICKS_A_REQUEST);
      const answer = tickBox(session, first + next, inputs.subarray(next * wire.INPUT_BYTES, end * wire.INPUT_BYTES));
      // It is awaited in its turn; until then its failure is not unhandled.
      answer.catch(() => {});
      under_way.push({ from: next, answer });
      next = end;
    }
    const oldest = under_way.shift();
    if (oldest === undefined) return undefined;
    const box = await oldest.answer;
    const end = under_way[0]?.from ?? next;
    const difference = firstDifference(box, outputs.subarray(from * wire.OUTPUT_BYTES, end * wire.OUTPUT_BYTES));
    onSame(difference ? from + difference.tick : end);
    if (difference) return difference;
    from = end;
  }
  return undefined;
}

/** Both modules begin a leg alike; the desk's has done so. @returns what the box's did differently */
async function prepare(session: Session, box: Box): Promise<Omit<Difference, 'tick'> | undefined> {
  const call = async (id: number, value: number) =>
    (await session.ask('lockstep-parameter', { id, value })).values.answer as number;
  await call(LOAD_DEFAULTS, 0);
  await call(POWER_UP, 0);
  for (const { id, name } of PARAMETER_ROWS) {
    const answer = await call(id, box[name]);
    if (answer !== 0)
      return { field: `set_parameter of ${name} to ${box[name]}`, box: `refused, ${answer}`, desk: 'taken' };
  }
  return undefined;
}

/** A frame that overtook a lost one is refused for its place; it is sent again until the lost one has arrived. */
async function tickBox(session: Session, first: number, inputs: Uint8Array): Promise<Uint8Array> {
  const blocks: { block: Uint8Array }[] = [];
  for (let at = 0; at < inputs.length; at += wire.INPUT_BYTES)
    blocks.push({ block: inputs.subarray(at, at + wire.INPUT_BYTES) });
  for (let tries = 1; ; tries++) {
    const { status, records } = await session.askAnyway('lockstep-ticks', { first }, blocks);
    if (status === 0) return Buffer.concat(records.map(({ block }) => block as Uint8Array));
    if (status !== OUT_OF_PLACE || tries >= PLACE_TRIES) throw refusalOf('lockstep-ticks', status);
    await pause(PLACE_AGAIN_MS);
  }
}
