import {
  MODE_FOLLOW,
  MODE_HOLD,
  MODE_LIFT,
  MODE_LOWER,
  MODE_PIERCE,
  MODE_REST,
  MODE_RETRACT,
  MODE_SEEK,
  MODE_SETTLE,
  MODE_STRIKE,
  STAGE_BACK,
  STAGE_FALL,
  STAGE_FAST,
  STAGE_NONE,
  STAGE_OPEN,
  STAGE_RISE,
  STAGE_SLOW,
} from '../../firmware/wire/codes.gen.js';
import {
  FLAG_ARC_OK,
  FLAG_HOMED,
  INPUT_BREAKAWAY,
  INPUT_KEY,
  INPUT_RELAY,
  INPUT_REQUEST,
  INPUT_STOP_CHAIN,
  OUTPUT_PERMIT,
  OUTPUT_TRIGGER,
  OUTPUT_Z_OWNED,
} from '../../firmware/wire/layout.gen.js';
import { BLOCK_TICKS, type ColumnName, newBlock, type TraceBlock, type TraceSink } from '../../sim/run/trace/index.js';

export type MadeRow = Partial<Record<ColumnName, number>>;

/** The default axis: steps/mm, mm/s², and the height of the start above the sheet, mm. */
export const STEPS_PER_MM = 400;
const ACCELERATION_MM_S2 = 1500;
export const START_MM = 20;

const READY = INPUT_KEY | INPUT_STOP_CHAIN | INPUT_BREAKAWAY;

/** Builds a run tick by tick, with Z moved inside its limits. */
export class MadeRun {
  readonly rows: MadeRow[] = [];
  z = 0;
  private velocity_mm_s = 0;
  private fraction = 0;

  /** `ticks` rows alike; Z runs towards `velocity_mm_s`. */
  add(ticks: number, row: MadeRow, velocity_mm_s = 0): this {
    for (let tick = 0; tick < ticks; tick++) this.tick(row, velocity_mm_s);
    return this;
  }

  /** Rows alike until Z stands still at `goal` (steps since power-up). */
  goTo(goal: number, speed_mm_s: number, row: MadeRow): this {
    const rest = ACCELERATION_MM_S2 / 1000;
    while (this.z !== goal || Math.abs(this.velocity_mm_s) > rest) {
      const distance_mm = (goal - this.z - this.fraction) / STEPS_PER_MM;
      const size = Math.min(
        Math.sqrt(ACCELERATION_MM_S2 * Math.abs(distance_mm)),
        speed_mm_s,
        Math.abs(distance_mm) * 1000,
      );
      this.tick(row, Math.sign(distance_mm) * size);
    }
    this.velocity_mm_s = 0;
    this.fraction = 0;
    this.tick(row, 0);
    return this;
  }

  private tick(row: MadeRow, wanted_mm_s: number): void {
    const most = ACCELERATION_MM_S2 / 1000;
    this.velocity_mm_s += Math.max(-most, Math.min(most, wanted_mm_s - this.velocity_mm_s));
    this.fraction += (this.velocity_mm_s * STEPS_PER_MM) / 1000;
    // A column of integers has no minus zero.
    const steps = Math.trunc(this.fraction) + 0;
    this.fraction -= steps;
    this.z += steps;
    const standoff_mm = START_MM + this.z / STEPS_PER_MM;
    this.rows.push({ z_steps: steps, z: this.z, z_velocity_mm_s: this.velocity_mm_s, standoff_mm, ...row });
  }
}

const TRUTH: MadeRow = { corner_mm: 1e6, contour: 0, line: 12 };
const REST: MadeRow = { ...TRUTH, mode: MODE_REST, flags: FLAG_HOMED };
const OWNED: MadeRow = {
  ...TRUTH,
  digital_inputs: READY | INPUT_REQUEST,
  digital_outputs: OUTPUT_Z_OWNED,
  flags: FLAG_HOMED,
};
const ARC: MadeRow = {
  ...OWNED,
  digital_outputs: OUTPUT_Z_OWNED | OUTPUT_TRIGGER,
  flags: FLAG_HOMED | FLAG_ARC_OK,
  measured_V: 118,
  target_V: 118,
  burning: 1,
  relay: 1,
};
/** Cutting along X at 50 mm/s, 8 steps a tick at 160 steps/mm. */
export const CUTTING: MadeRow = {
  ...ARC,
  digital_outputs: OUTPUT_Z_OWNED | OUTPUT_TRIGGER | OUTPUT_PERMIT,
  x_steps: 8,
  feed_mm_s: 50,
  measured_feed_mm_s: 50,
};
const SHEET = -START_MM * STEPS_PER_MM;

/**
 * One correct contour, from power-up: key, request, touch-off, strike, pierce, cut with a hold in the middle, the
 * request off, the voltage falling, Z handed back. A level sheet 20 mm under the torch.
 * @param hold what the rows of the hold have beside mode and cutting
 */
export function madeCut(hold: MadeRow = {}): MadeRow[] {
  const run = new MadeRun();
  run.add(50, { ...REST, digital_inputs: INPUT_STOP_CHAIN | INPUT_BREAKAWAY, contour: -1 });
  run.add(50, { ...REST, digital_inputs: READY, contour: -1 });
  run.add(1, { ...OWNED, mode: MODE_SEEK, stage: STAGE_FAST });
  run.goTo(SHEET - 40, 12, { ...OWNED, mode: MODE_SEEK, stage: STAGE_FAST });
  run.goTo(SHEET + 100, 6, { ...OWNED, mode: MODE_SEEK, stage: STAGE_BACK });
  run.goTo(SHEET - 20, 2, { ...OWNED, mode: MODE_SEEK, stage: STAGE_SLOW });
  run.goTo(SHEET, 2, { ...OWNED, mode: MODE_SEEK, stage: STAGE_OPEN });
  // The switch has opened there, and must stay open for 20 ms.
  run.add(19, { ...OWNED, mode: MODE_SEEK, stage: STAGE_OPEN });
  run.goTo(SHEET + 3.5 * STEPS_PER_MM, 40, { ...OWNED, mode: MODE_LIFT });
  run.add(40, { ...ARC, mode: MODE_STRIKE, flags: FLAG_HOMED, measured_V: 140, burning: 0 });
  run.add(60, { ...ARC, mode: MODE_STRIKE, flags: FLAG_HOMED });
  run.add(500, { ...ARC, mode: MODE_PIERCE });
  run.goTo(SHEET + 1.5 * STEPS_PER_MM, 40, { ...ARC, mode: MODE_LOWER });
  run.add(60, { ...CUTTING, mode: MODE_SETTLE });
  run.add(400, { ...CUTTING, mode: MODE_FOLLOW });
  run.add(200, { ...CUTTING, mode: MODE_HOLD, hold: 2, ...hold });
  run.add(400, { ...CUTTING, mode: MODE_FOLLOW });
  const off: MadeRow = { ...OWNED, digital_inputs: READY, mode: MODE_RETRACT };
  run.add(8, { ...off, stage: STAGE_FALL, measured_V: 100, relay: 1 });
  run.add(50, { ...off, stage: STAGE_FALL, measured_V: 60 });
  run.goTo(0, 40, { ...off, stage: STAGE_RISE, measured_V: 1 });
  run.add(100, { ...REST, digital_inputs: READY });
  let path_mm = 0;
  for (const row of run.rows) {
    path_mm += (row.x_steps ?? 0) / 160;
    row.path_mm = path_mm;
    row.x_mm = path_mm;
    row.stage ??= STAGE_NONE;
    row.true_V = row.measured_V ?? 0;
    // The readback says what the firing contact does.
    if (row.relay) row.digital_inputs! |= INPUT_RELAY;
  }
  return run.rows;
}

/** First row in a mode (after row `after`). */
export function firstIn(rows: readonly MadeRow[], mode: number, after = 0): number {
  const at = rows.findIndex((row, index) => index >= after && row.mode === mode);
  if (at < 0) throw new Error(`no row in mode ${mode}`);
  return at;
}

/** Changes `count` rows from `at` on, and says where. */
export function plant(
  rows: MadeRow[],
  at: number,
  count: number,
  change: (row: MadeRow, index: number) => void,
): number {
  for (let index = 0; index < count; index++) change(rows[at + index], index);
  return at;
}

/** Hands rows to sinks in blocks; `sizes` are the lengths of the first blocks, the rest are full. */
export function feed(rows: readonly MadeRow[], sinks: readonly TraceSink[], sizes: readonly number[] = []): void {
  for (const block of blocksOf(rows, sizes)) for (const sink of sinks) sink.block(block);
}

/** Rows as blocks; one and the same block is filled again and again, as a run does. */
export function* blocksOf(rows: readonly MadeRow[], sizes: readonly number[] = []): Generator<TraceBlock> {
  const block = newBlock();
  const blank = newBlock();
  let at = 0;
  for (let part = 0; at < rows.length; part++) {
    const count = Math.min(sizes[part] ?? BLOCK_TICKS, rows.length - at);
    block.first_tick = at;
    block.count = count;
    for (const name of Object.keys(blank) as ColumnName[]) {
      if (ArrayBuffer.isView(blank[name])) block[name].fill(0);
    }
    for (let row = 0; row < count; row++) {
      for (const [name, value] of Object.entries(rows[at + row])) block[name as ColumnName][row] = value;
    }
    yield block;
    at += count;
  }
}
