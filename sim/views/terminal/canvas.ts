import type { Picture } from '../text/index.js';

/** What a dot belongs to; of two in one cell the later one gives colour and ASCII character. */
export interface Layer {
  readonly tone: number;
  /**
   * ASCII characters for dots in the upper, the middle and the lower part of a cell; the braille pattern
   * shows the place by itself.
   */
  readonly ascii: readonly [string, string, string];
}

/** Braille dot numbering (Unicode 15, block 2800): bit of the dot at column 0…1, row 0…3. */
const DOT_BITS = [0x01, 0x02, 0x04, 0x40, 0x08, 0x10, 0x20, 0x80];
const UPPER = DOT_BITS[0] | DOT_BITS[4];
const LOWER = DOT_BITS[3] | DOT_BITS[7];

/** Dots, two across and four down for each character cell: nearly square on a usual terminal. */
export class DotCanvas {
  /** Dots across. */
  readonly width: number;
  /** Dots down. */
  readonly height: number;
  private readonly dots: Uint8Array[];

  /** @param layers from the back to the front. */
  constructor(
    readonly columns: number,
    readonly rows: number,
    private readonly layers: readonly Layer[],
  ) {
    this.width = columns * 2;
    this.height = rows * 4;
    this.dots = layers.map(() => new Uint8Array(columns * rows));
  }

  dot(x: number, y: number, layer: number): void {
    if (!(x >= 0 && x < this.width && y >= 0 && y < this.height)) return;
    x = Math.floor(x);
    y = Math.floor(y);
    this.dots[layer][(y >> 2) * this.columns + (x >> 1)] |= DOT_BITS[(x & 1) * 4 + (y & 3)];
  }

  /** All dots of column x from y0 to y1, in either order. */
  upright(x: number, y0: number, y1: number, layer: number): void {
    const top = Math.max(0, Math.floor(Math.min(y0, y1)));
    const bottom = Math.min(this.height - 1, Math.floor(Math.max(y0, y1)));
    for (let y = top; y <= bottom; y++) this.dot(x, y, layer);
  }

  /** Copy into a picture; cells without a dot leave what is there. */
  paint(picture: Picture, row: number, column: number): void {
    for (let y = 0; y < this.rows; y++)
      for (let x = 0; x < this.columns; x++) {
        const at = y * this.columns + x;
        let all = 0;
        let front = -1;
        for (let layer = 0; layer < this.layers.length; layer++)
          if (this.dots[layer][at] !== 0) {
            all |= this.dots[layer][at];
            front = layer;
          }
        if (front < 0) continue;
        const { tone, ascii } = this.layers[front];
        const character = picture.style.unicode ? String.fromCharCode(0x2800 + all) : ascii[part(this.dots[front][at])];
        picture.put(row + y, column + x, character, tone);
      }
  }
}

/** 0 upper, 1 middle or all over, 2 lower. */
function part(bits: number): 0 | 1 | 2 {
  const upper = (bits & UPPER) !== 0;
  const lower = (bits & LOWER) !== 0;
  if (upper === lower) return 1;
  return upper ? 0 : 2;
}
