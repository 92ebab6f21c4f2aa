// The surface of the sheet, and how heat raises it.
import { place, plate } from './cells.gen';
import { sine_of_turns } from './random';

/** While the arc burns on the spot, growth by heat is laid down this often. */
const GROWTH_TICKS: i32 = 32;
/** Radius of the heap that the melt of a pierce makes (assumption). */
const PUDDLE_MM: f64 = 2.5;
/** Share of its height that the heap of a pierce gains in a tick: a time constant of 100 ms (assumption). */
const PUDDLE_SHARE: f64 = 0.01;

/**
 * One millisecond: the height of the undeflected surface under the torch (beyond the edges the sheet is continued), and
 * the distance past the edge.
 * @param moved 1 if X or Y changed; @param burning 1 while the arc heats the sheet
 */
export function advancePlate(moved: i32, burning: i32): void {
  plate.growth_ticks += burning;
  if (moved != 0 || plate.growth_ticks >= GROWTH_TICKS) advanceStill();
  plate.surface_mm = plate.still_mm + vibration();
  if (plate.puddle_mm > 0) plate.surface_mm += puddle(burning);
}

/** A pierce begins: its melt heaps up here. The heap of the pierce before is cut away or far off. */
export function beginPuddle(): void {
  plate.puddle_x_mm = place.x_mm;
  plate.puddle_y_mm = place.y_mm;
  plate.heaped_mm = 0;
}

function puddle(burning: i32): f64 {
  const dx = place.x_mm - plate.puddle_x_mm;
  const dy = place.y_mm - plate.puddle_y_mm;
  const share = (dx * dx + dy * dy) / (PUDDLE_MM * PUDDLE_MM);
  if (share >= 1) return 0;
  if (burning != 0) plate.heaped_mm += PUDDLE_SHARE * (plate.puddle_mm - plate.heaped_mm);
  return plate.heaped_mm * (1.0 - share) * (1.0 - share);
}

function vibration(): f64 {
  if (plate.vibration_twice_cosine == 0) return 0;
  const next = plate.vibration_twice_cosine * plate.vibration - plate.vibration_before;
  plate.vibration_before = plate.vibration;
  plate.vibration = next;
  return next;
}

function advanceStill(): void {
  const x_mm = place.x_mm;
  const y_mm = place.y_mm;
  let dx = x_mm - plate.tangent_x_mm;
  let dy = y_mm - plate.tangent_y_mm;
  if (plate.growth_ticks >= GROWTH_TICKS || dx * dx + dy * dy > plate.tangent_square) {
    layTangent(x_mm, y_mm);
    dx = 0;
    dy = 0;
  }
  plate.still_mm = plate.tangent_mm + plate.tangent_slope_x * dx + plate.tangent_slope_y * dy;
  if (plate.offcut_height_mm > 0) plate.still_mm += offcut(x_mm, y_mm);
  if (x_mm >= 0 && y_mm >= 0 && x_mm <= plate.width_mm && y_mm <= plate.height_mm) {
    plate.off_sheet = 0;
    plate.beyond_mm = 0;
  } else {
    plate.off_sheet = 1;
    plate.beyond_mm = beyond(x_mm, y_mm);
  }
}

function layTangent(x_mm: f64, y_mm: f64): void {
  if (plate.growth_ticks > 0) {
    if (plate.off_sheet == 0) addHeat(x_mm, y_mm, <f64>plate.growth_ticks * plate.growth_mm);
    plate.growth_ticks = 0;
  }
  lookAtHeat(x_mm, y_mm);
  if (plate.bump_mm > 0) lookAtBump(x_mm, y_mm);
  const turns = x_mm * plate.wave_x + y_mm * plate.wave_y + plate.wave_phase;
  const along = x_mm / plate.width_mm;
  const swing = plate.wave_mm * 2.0 * Math.PI * sine_of_turns(turns + 0.25);
  plate.tangent_x_mm = x_mm;
  plate.tangent_y_mm = y_mm;
  plate.tangent_mm =
    plate.tilt_x * x_mm +
    plate.tilt_y * y_mm +
    4.0 * plate.bow_mm * along * (1.0 - along) +
    plate.wave_mm * sine_of_turns(turns) +
    plate.heat_mm +
    plate.bumped_mm;
  plate.tangent_slope_x =
    plate.tilt_x +
    (4.0 * plate.bow_mm * (1.0 - 2.0 * along)) / plate.width_mm +
    swing * plate.wave_x +
    plate.heat_slope_x +
    plate.bump_slope_x;
  plate.tangent_slope_y = plate.tilt_y + swing * plate.wave_y + plate.heat_slope_y + plate.bump_slope_y;
}

/** Bumps and dents by turns, like a chessboard: each in the middle of its square, h·(1 − (r/R)²)² high. */
function lookAtBump(x_mm: f64, y_mm: f64): void {
  const u = (x_mm - plate.bump_x_mm) / plate.bump_pitch_mm;
  const v = (y_mm - plate.bump_y_mm) / plate.bump_pitch_mm;
  const column = floor<f64>(u);
  const row = floor<f64>(v);
  const dx = (u - column - 0.5) * plate.bump_pitch_mm;
  const dy = (v - row - 0.5) * plate.bump_pitch_mm;
  const square = plate.bump_radius_mm * plate.bump_radius_mm;
  const left = max<f64>(0, 1.0 - (dx * dx + dy * dy) / square);
  const height_mm = ((<i32>column + <i32>row) & 1) == 0 ? plate.bump_mm : -plate.bump_mm;
  const slope = (-4.0 * height_mm * left) / square;
  plate.bumped_mm = height_mm * left * left;
  plate.bump_slope_x = slope * dx;
  plate.bump_slope_y = slope * dy;
}

/** The offcut rises from its low edge at least X to its raised edge: a ramp from one side, a wall from the other. */
function offcut(x_mm: f64, y_mm: f64): f64 {
  const u = (x_mm - plate.offcut_x_mm) / plate.offcut_size_mm;
  const v = (y_mm - plate.offcut_y_mm) / plate.offcut_size_mm;
  return u >= 0 && u <= 1 && v >= 0 && v <= 1 ? u * plate.offcut_height_mm : 0;
}

function beyond(x_mm: f64, y_mm: f64): f64 {
  const dx = x_mm < 0 ? -x_mm : max<f64>(0, x_mm - plate.width_mm);
  const dy = y_mm < 0 ? -y_mm : max<f64>(0, y_mm - plate.height_mm);
  return sqrt<f64>(dx * dx + dy * dy);
}

/** Place of a node of the grid of growth. */
function nodeAt(column: f64, row: f64): usize {
  return <usize>plate.nodes_at + ((<usize>(<i32>row * plate.columns + <i32>column)) << 3);
}

function inGrid(column: f64, row: f64): bool {
  return column >= 0 && row >= 0 && column < <f64>(plate.columns - 1) && row < <f64>(plate.rows - 1);
}

function raise(at: usize, by_mm: f64): void {
  store<f64>(at, load<f64>(at) + by_mm);
}

/** Raises the sheet at a point; the four nodes around share the growth so that the point itself gets all of it. */
function addHeat(x_mm: f64, y_mm: f64, growth_mm: f64): void {
  const u = x_mm / plate.cell_mm;
  const v = y_mm / plate.cell_mm;
  const column = floor<f64>(u);
  const row = floor<f64>(v);
  if (!inGrid(column, row)) return;
  const a = u - column;
  const b = v - row;
  const squares = (a * a + (1.0 - a) * (1.0 - a)) * (b * b + (1.0 - b) * (1.0 - b));
  const amount = growth_mm / squares;
  const at = nodeAt(column, row);
  const above = at + ((<usize>plate.columns) << 3);
  raise(at, amount * (1.0 - a) * (1.0 - b));
  raise(at + 8, amount * a * (1.0 - b));
  raise(above, amount * (1.0 - a) * b);
  raise(above + 8, amount * a * b);
}

/** Leaves height and slopes of the growth at a point, bilinear between the nodes; nothing outside the grid. */
function lookAtHeat(x_mm: f64, y_mm: f64): void {
  const u = x_mm / plate.cell_mm;
  const v = y_mm / plate.cell_mm;
  const column = floor<f64>(u);
  const row = floor<f64>(v);
  if (!inGrid(column, row)) {
    plate.heat_mm = 0;
    plate.heat_slope_x = 0;
    plate.heat_slope_y = 0;
    return;
  }
  const a = u - column;
  const b = v - row;
  const at = nodeAt(column, row);
  const above = at + ((<usize>plate.columns) << 3);
  const low_left = load<f64>(at);
  const low_right = load<f64>(at, 8);
  const high_left = load<f64>(above);
  const high_right = load<f64>(above, 8);
  const low = low_left + a * (low_right - low_left);
  const high = high_left + a * (high_right - high_left);
  plate.heat_mm = low + b * (high - low);
  plate.heat_slope_x = ((1.0 - b) * (low_right - low_left) + b * (high_right - high_left)) / plate.cell_mm;
  plate.heat_slope_y = (high - low) / plate.cell_mm;
}
