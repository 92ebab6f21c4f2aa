/**
 * Growth of the sheet where the arc has burnt: heights on a coarse grid, bilinear between its nodes. The
 * neighbourhood is one cell (20 mm or more); the sheet is not cooled during a run (assumption).
 */
export class HeatMap {
  /** Value and slopes at the last `look`. */
  height_mm = 0;
  slope_x = 0;
  slope_y = 0;
  private readonly nodes: Float64Array;
  private readonly columns: number;
  private readonly rows: number;
  private readonly cell_mm: number;

  constructor(width_mm: number, height_mm: number) {
    this.cell_mm = Math.max(20, width_mm / 32, height_mm / 32);
    this.columns = Math.ceil(width_mm / this.cell_mm) + 2;
    this.rows = Math.ceil(height_mm / this.cell_mm) + 2;
    this.nodes = new Float64Array(this.columns * this.rows);
  }

  /** Raise the sheet at a point by an amount; the four nodes around share it so that the point itself gets all. */
  add(x_mm: number, y_mm: number, growth_mm: number): void {
    const u = x_mm / this.cell_mm;
    const v = y_mm / this.cell_mm;
    const column = Math.floor(u);
    const row = Math.floor(v);
    if (!(column >= 0 && row >= 0 && column < this.columns - 1 && row < this.rows - 1)) return;
    const a = u - column;
    const b = v - row;
    const squares = (a * a + (1 - a) * (1 - a)) * (b * b + (1 - b) * (1 - b));
    const amount = growth_mm / squares;
    const at = row * this.columns + column;
    this.nodes[at]! += amount * (1 - a) * (1 - b);
    this.nodes[at + 1]! += amount * a * (1 - b);
    this.nodes[at + this.columns]! += amount * (1 - a) * b;
    this.nodes[at + this.columns + 1]! += amount * a * b;
  }

  /** Leave height and slopes at a point in the fields; nothing outside the grid. */
  look(x_mm: number, y_mm: number): void {
    const u = x_mm / this.cell_mm;
    const v = y_mm / this.cell_mm;
    const column = Math.floor(u);
    const row = Math.floor(v);
    if (!(column >= 0 && row >= 0 && column < this.columns - 1 && row < this.rows - 1)) {
      this.height_mm = 0;
      this.slope_x = 0;
      this.slope_y = 0;
      return;
    }
    const a = u - column;
    const b = v - row;
    const at = row * this.columns + column;
    const low_left = this.nodes[at]!;
    const low_right = this.nodes[at + 1]!;
    const high_left = this.nodes[at + this.columns]!;
    const high_right = this.nodes[at + this.columns + 1]!;
    const low = low_left + a * (low_right - low_left);
    const high = high_left + a * (high_right - high_left);
    this.height_mm = low + b * (high - low);
    this.slope_x = ((1 - b) * (low_right - low_left) + b * (high_right - high_left)) / this.cell_mm;
    this.slope_y = (high - low) / this.cell_mm;
  }
}
