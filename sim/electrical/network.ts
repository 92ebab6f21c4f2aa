import { StandoffError } from '../base/index.js';

/** A part between two nodes of a network. Node `0` is the reference. */
export interface Part {
  readonly name: string;
  readonly kind: 'resistor' | 'capacitor';
  readonly from: string;
  readonly to: string;
  /** Ohm or farad. */
  readonly value: number;
}

/** A voltage that is held between a node and the reference. */
export interface Drive {
  readonly node: string;
  readonly volts: number;
}

/** A current that is fed into one node and taken from another, A. */
export interface Feed {
  readonly into: string;
  readonly from: string;
  readonly amperes: number;
}

/** A voltage as amplitude and phase. */
export interface Phasor {
  readonly re: number;
  readonly im: number;
}

/** Smallest conductance to the reference, S, so that a node on which nothing hangs has a voltage; as ngspice's gmin. */
const LEAST_S = 1e-15;

/**
 * Node voltages of resistors and capacitors, by nodal analysis (any text on circuits): for d.c. with `frequency_Hz` 0.
 * @throws StandoffError `network-singular` for a network without a solution
 */
export function nodeVoltages(
  parts: readonly Part[],
  drives: readonly Drive[],
  frequency_Hz = 0,
  feeds: readonly Feed[] = [],
): ReadonlyMap<string, Phasor> {
  const held = new Map<string, number>([['0', 0], ...drives.map(({ node, volts }) => [node, volts] as const)]);
  const free = [...new Set(parts.flatMap(({ from, to }) => [from, to]))].filter((node) => !held.has(node));
  const size = free.length;
  const width = size + 1;
  const re = new Float64Array(size * width);
  const im = new Float64Array(size * width);
  const place = new Map(free.map((node, index) => [node, index] as const));
  const add = (row: number, column: number, real: number, imaginary: number) => {
    re[row * width + column]! += real;
    im[row * width + column]! += imaginary;
  };
  for (let n = 0; n < size; n++) add(n, n, LEAST_S, 0);
  for (const { kind, from, to, value } of parts) {
    const g = kind === 'resistor' ? 1 / value : 0;
    const b = kind === 'capacitor' ? 2 * Math.PI * frequency_Hz * value : 0;
    for (const [near, far] of [
      [from, to],
      [to, from],
    ] as const) {
      const row = place.get(near);
      if (row === undefined) continue;
      add(row, row, g, b);
      const column = place.get(far);
      if (column !== undefined) add(row, column, -g, -b);
      else add(row, size, g * held.get(far)!, b * held.get(far)!);
    }
  }
  for (const { into, from, amperes } of feeds) {
    const enters = place.get(into);
    const leaves = place.get(from);
    if (enters !== undefined) add(enters, size, amperes, 0);
    if (leaves !== undefined) add(leaves, size, -amperes, 0);
  }
  eliminate(re, im, size);
  const found = free.map((node, n): [string, Phasor] => [
    node,
    { re: re[n * width + size]!, im: im[n * width + size]! },
  ]);
  const given = [...held].map(([node, volts]): [string, Phasor] => [node, { re: volts, im: 0 }]);
  return new Map([...found, ...given]);
}

/** Gauss–Jordan elimination with pivots, complex, in place; the last column becomes the solution. */
function eliminate(re: Float64Array, im: Float64Array, size: number): void {
  const width = size + 1;
  const square = (row: number, column: number) => re[row * width + column]! ** 2 + im[row * width + column]! ** 2;
  for (let column = 0; column < size; column++) {
    let best = column;
    for (let row = column + 1; row < size; row++) if (square(row, column) > square(best, column)) best = row;
    const pivot = square(best, column);
    if (!(pivot > 0)) {
      throw new StandoffError('network-singular', 'the circuit has no solution', 'check that every part is connected');
    }
    swap(re, best, column, width);
    swap(im, best, column, width);
    const own = column * width;
    const p_re = re[own + column]! / pivot;
    const p_im = -im[own + column]! / pivot;
    for (let c = column; c < width; c++) {
      const x = re[own + c]!;
      const y = im[own + c]!;
      re[own + c] = x * p_re - y * p_im;
      im[own + c] = x * p_im + y * p_re;
    }
    for (let row = 0; row < size; row++) {
      const f_re = re[row * width + column]!;
      const f_im = im[row * width + column]!;
      if (row === column || (f_re === 0 && f_im === 0)) continue;
      for (let c = column; c < width; c++) {
        re[row * width + c]! -= f_re * re[own + c]! - f_im * im[own + c]!;
        im[row * width + c]! -= f_re * im[own + c]! + f_im * re[own + c]!;
      }
    }
  }
}

function swap(values: Float64Array, one: number, other: number, width: number): void {
  if (one === other) return;
  for (let c = 0; c < width; c++) {
    const kept = values[one * width + c]!;
    values[one * width + c] = values[other * width + c]!;
    values[other * width + c] = kept;
  }
}
