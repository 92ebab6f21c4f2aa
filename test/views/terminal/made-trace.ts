import {
  FAULT_ARC_LOST,
  HOLD_CORNER,
  HOLD_NONE,
  MODE_FAULT,
  MODE_FOLLOW,
  MODE_HOLD,
  MODE_PIERCE,
} from '../../../firmware/wire/codes.gen.js';
import {
  INPUT_KEY,
  INPUT_REQUEST,
  INPUT_STOP_CHAIN,
  OUTPUT_PERMIT,
  OUTPUT_TRIGGER,
  OUTPUT_Z_OWNED,
} from '../../../firmware/wire/layout.gen.js';
import { BLOCK_TICKS, type ColumnName, newBlock } from '../../../sim/run/trace/index.js';
import {
  type SimulatedScene,
  type SimulationProgress,
  ViewHistory,
  type ViewState,
} from '../../../sim/views/terminal/index.js';

export const SCENE: SimulatedScene = {
  program: 'hinge-plates.nc',
  contours: 7,
  cut_height_mm: 1.5,
  told_V: 118,
  pierce_height_mm: 3.5,
  thickness_mm: 3,
  tolerance_mm: 0.2,
};

export type MadeRow = Partial<Record<ColumnName, number>>;

/** Feed made rows, tick by tick, through blocks of a second into a history, as a run does. */
export function play(history: ViewHistory, ticks: number, row: (tick: number) => MadeRow, first = 0): void {
  const block = newBlock();
  for (let tick = first; tick < first + ticks; tick++) {
    const i = (tick - first) % BLOCK_TICKS;
    if (i === 0) block.first_tick = tick;
    for (const [name, value] of Object.entries(row(tick))) block[name as ColumnName][i] = value;
    block.count = i + 1;
    if (block.count === BLOCK_TICKS || tick === first + ticks - 1) history.add(block);
  }
}

/** The torch follows at 50 mm/s: 0.05 mm of path a tick over a sheet that rises 2 %. */
export function following(tick: number, standoff_mm = 1.5): MadeRow {
  const path_mm = tick * 0.05;
  const plate_mm = path_mm * 0.02;
  return {
    mode: MODE_FOLLOW,
    hold: HOLD_NONE,
    fault: 0,
    digital_inputs: INPUT_KEY | INPUT_REQUEST | INPUT_STOP_CHAIN,
    digital_outputs: OUTPUT_TRIGGER | OUTPUT_PERMIT | OUTPUT_Z_OWNED,
    burning: 1,
    crossing: 0,
    off_sheet: 0,
    contour: 1,
    line: 41,
    path_mm,
    plate_mm,
    standoff_mm,
    torch_mm: plate_mm + standoff_mm,
    measured_V: 118.4,
    target_V: 118,
    feed_mm_s: 50,
    corner_mm: 1e6,
  };
}

export const piercing = (tick: number): MadeRow => ({
  ...following(0, 3.5),
  mode: MODE_PIERCE,
  digital_outputs: OUTPUT_TRIGGER | OUTPUT_Z_OWNED,
  path_mm: 0,
  feed_mm_s: 0,
  measured_V: 130 + (tick % 5),
});

export const atCorner = (tick: number, standoff_mm = 1.43): MadeRow => ({
  ...following(tick, standoff_mm),
  mode: MODE_HOLD,
  hold: HOLD_CORNER,
  corner_mm: 2,
  feed_mm_s: 20,
});

export const faulted = (tick: number): MadeRow => ({
  ...following(tick, 20),
  mode: MODE_FAULT,
  fault: FAULT_ARC_LOST,
  digital_outputs: OUTPUT_Z_OWNED,
  burning: 0,
  measured_V: 0.2,
  feed_mm_s: 0,
});

/** Two seconds of following, half a second of corner hold, half a second of following. */
export function madeHistory(): ViewHistory {
  const history = new ViewHistory(SCENE);
  play(history, 3000, (tick) => (tick >= 2000 && tick < 2500 ? atCorner(tick) : following(tick)));
  return history;
}

export const PROGRESS: SimulationProgress = { share: 0.38, remaining_s: 42.7, speed: 1 };

export const stateOf = (history: ViewHistory, paused = false): ViewState => ({ history, paused, progress: PROGRESS });
