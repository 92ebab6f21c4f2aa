import { StandoffError } from '../base/index.js';
import type { Divider, ElectricalMachine } from './machine.js';

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
interface Drive {
  readonly node: string;
  readonly volts: number;
}

/** A current that is fed into one node and taken from another, A. */
interface Feed {
  readonly into: string;
  readonly from: string;
  readonly amperes: number;
}

/** A voltage as amplitude and phase. */
interface Phasor {
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
    re[row * width + column] += real;
    im[row * width + column] += imaginary;
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
  const found = free.map((node, n): [string, Phasor] => [node, { re: re[n * width + size], im: im[n * width + size] }]);
  const given = [...held].map(([node, volts]): [string, Phasor] => [node, { re: volts, im: 0 }]);
  return new Map([...found, ...given]);
}

/** Gauss–Jordan elimination with pivots, complex, in place; the last column becomes the solution. */
function eliminate(re: Float64Array, im: Float64Array, size: number): void {
  const width = size + 1;
  const square = (row: number, column: number) => re[row * width + column] ** 2 + im[row * width + column] ** 2;
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
    const p_re = re[own + column] / pivot;
    const p_im = -im[own + column] / pivot;
    for (let c = column; c < width; c++) {
      const x = re[own + c];
      const y = im[own + c];
      re[own + c] = x * p_re - y * p_im;
      im[own + c] = x * p_im + y * p_re;
    }
    for (let row = 0; row < size; row++) {
      const f_re = re[row * width + column];
      const f_im = im[row * width + column];
      if (row === column || (f_re === 0 && f_im === 0)) continue;
      for (let c = column; c < width; c++) {
        re[row * width + c] -= f_re * re[own + c] - f_im * im[own + c];
        im[row * width + c] -= f_re * im[own + c] + f_im * re[own + c];
      }
    }
  }
}

function swap(values: Float64Array, one: number, other: number, width: number): void {
  if (one === other) return;
  for (let c = 0; c < width; c++) {
    const kept = values[one * width + c];
    values[one * width + c] = values[other * width + c];
    values[other * width + c] = kept;
  }
}

/** An open part, ohm, and a shorted one; both are what the netlist says too. */
export const OPEN_OHM = 1e15;
const SHORT_OHM = 1e-3;

/** How many of the upper resistors lie in the lead to the work; the others lie in the lead to the electrode. */
export const inPlusLead = (divider: Divider): number => Math.ceil(divider.top_resistors / 2);

/**
 * The divider as a network between `work` and the electrode, which is node `0`. `plus` and `minus` are the two
 * leads behind the protective resistors; the lower resistor, the capacitor and the input of the isolation stage
 * lie between them.
 */
export function dividerParts({ divider, isolation }: Pick<ElectricalMachine, 'divider' | 'isolation'>): Part[] {
  const { top_resistors, top_kohm, bottom_kohm, capacitor_nF } = divider;
  const upper = inPlusLead(divider);
  const resistors = Array.from({ length: top_resistors }, (_, n): Part => {
    const in_plus = n < upper;
    const before = in_plus ? (n === 0 ? 'work' : `p${n}`) : n === upper ? 'minus' : `n${n - upper}`;
    const last = in_plus ? n === upper - 1 : n === top_resistors - 1;
    const after = last ? (in_plus ? 'plus' : '0') : in_plus ? `p${n + 1}` : `n${n + 1 - upper}`;
    return { name: `R${n + 1}`, kind: 'resistor', from: before, to: after, value: top_kohm * 1000 };
  });
  // A single resistor leaves the electrode's lead unprotected; the drawing and the table say so.
  const direct: Part[] = top_resistors - upper > 0 ? [] : [wire('minus', '0')];
  const lower = top_resistors + 1;
  return [
    ...resistors,
    ...direct,
    { name: `R${lower}`, kind: 'resistor', from: 'plus', to: 'minus', value: bottom_kohm * 1000 },
    { name: 'C1', kind: 'capacitor', from: 'plus', to: 'minus', value: capacitor_nF * 1e-9 },
    { name: 'RIN', kind: 'resistor', from: 'plus', to: 'minus', value: isolation.input_kohm * 1000 },
  ];
}

export const lowerName = (divider: Divider): string => `R${divider.top_resistors + 1}`;

const wire = (from: string, to: string): Part => ({ name: 'RW', kind: 'resistor', from, to, value: SHORT_OHM });

/** Replaces a part by an open circuit or a short. */
export function withFailed(parts: readonly Part[], name: string, how: 'open' | 'short'): Part[] {
  const value = how === 'open' ? OPEN_OHM : SHORT_OHM;
  return parts.map((part) => (part.name === name ? { ...part, kind: 'resistor', value } : part));
}

/** Joins two nodes by something that should not be there, or that a hand makes. */
export function withLink(parts: readonly Part[], from: string, to: string, ohm = SHORT_OHM): Part[] {
  return [...parts, { name: 'RX', kind: 'resistor', from, to, value: ohm }];
}

/** What a network does between the arc and the tap. */
interface TapGain {
  /** Volts at the tap for one at the arc. */
  readonly tap_per_V: number;
  /** Resistance that the capacitor sees, ohm. */
  readonly source_ohm: number;
}

/** Direct-current gain, and the resistance at the tap with the arc as a stiff source. */
export function tapGain(parts: readonly Part[]): TapGain {
  const driven = nodeVoltages(parts, [{ node: 'work', volts: 1 }]);
  const feed = { into: 'plus', from: 'minus', amperes: 1e-6 };
  const fed = nodeVoltages(parts, [{ node: 'work', volts: 0 }], 0, [feed]);
  return {
    tap_per_V: driven.get('plus')!.re - driven.get('minus')!.re,
    source_ohm: (fed.get('plus')!.re - fed.get('minus')!.re) / feed.amperes,
  };
}

/** Gain and time constant of the whole tap, as the simulated chain takes them. */
export interface Tap {
  /** Arc volts for one volt at the tap, with the isolation stage's load. */
  readonly ratio: number;
  readonly source_ohm: number;
  readonly rc_ms: number;
}

/**
 * The sound divider in closed form: ratio = 1 + n·R/(r ∥ Rin), source resistance = n·R ∥ r ∥ Rin. The network's
 * solution is compared with it by a test.
 */
export function tapOf({ divider, isolation }: Pick<ElectricalMachine, 'divider' | 'isolation'>): Tap {
  const top_ohm = divider.top_resistors * divider.top_kohm * 1000;
  const lower_ohm = 1000 / (1 / divider.bottom_kohm + 1 / isolation.input_kohm);
  const ratio = 1 + top_ohm / lower_ohm;
  const source_ohm = top_ohm / ratio;
  return { ratio, source_ohm, rc_ms: source_ohm * divider.capacitor_nF * 1e-6 };
}
