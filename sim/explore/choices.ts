import { CONTACT, type Direction, type Option, READ_BITS, type Reads, readsOf } from './directions.js';
import { fieldOf } from './key.js';
import { NOTHING, regulatorWord, sequenceWord } from './world.js';

/** What can happen in a state, as numbers in rows. */
export interface ChoiceTable {
  readonly directions: readonly Direction[];
  readonly count: number;
  /** Words that any option sets, and for each choice their values (as 32 bits), inputs, voltage, feed. */
  readonly words: Int32Array;
  readonly rows: Int32Array;
  readonly width: number;
  /** The options of a choice, as digits of one number: those of the first direction count least. */
  readonly digits: Float64Array;
}

/** Columns of a row before the values of the words. */
export const ROW = { digital_inputs: 0, voltage: 1, feed: 2, values: 3 } as const;

/** Tables by what they depend on, each made when it is first asked for. */
export class Choices {
  private readonly tables = new Map<number, ChoiceTable>();

  constructor(private readonly supply_contact: boolean) {}

  of(key: number): ChoiceTable {
    const kind = (key & READ_BITS) >>> 0;
    let table = this.tables.get(kind);
    if (table === undefined) {
      table = this.made(key);
      this.tables.set(kind, table);
    }
    return table;
  }

  private made(key: number): ChoiceTable {
    const reads = readsOf(key);
    const contact = this.supply_contact && fieldOf(key, 'trigger') !== 0;
    return choiceTable(contact ? { ...reads, first: [CONTACT, ...reads.first] } : reads);
  }
}

const product = (directions: readonly Direction[]) => directions.reduce((all, { length }) => all * length, 1);

/** The combinations of what is read; of what a tick does not get to read, only the first. */
function choiceTable(reads: Reads): ChoiceTable {
  const directions = [...reads.first, ...reads.last];
  const firsts = product(reads.first);
  const lasts = product(reads.last);
  const reached = reachingStep(reads);
  const count = firsts + (lasts - 1) * reached.length;
  const table = { directions, count, digits: new Float64Array(count), ...emptyRows(directions, count) };
  const { digits, rows, width, words } = table;
  writeProduct(table, reads.first);
  for (let first = 0; first < firsts; first++) digits[first] = first;
  // The rows that get to the mode's own step, once more for each combination of what that step reads.
  const repeated = lasts > 1 ? reached : reached.subarray(0, 0);
  repeated.forEach((first, at) => {
    for (let column = 0; column < width; column++) rows[(firsts + at) * width + column] = rows[first * width + column];
  });
  write(rows, width, effectsOf(optionsAt(reads.last, 0), words), 0, firsts);
  for (let last = lasts - 1; last > 0; last--) {
    const start = firsts + (last - 1) * reached.length;
    if (last > 1) rows.copyWithin(start * width, firsts * width, (firsts + reached.length) * width);
    for (let at = 0; at < reached.length; at++) digits[start + at] = last * firsts + reached[at];
    write(rows, width, effectsOf(optionsAt(reads.last, last), words), start, reached.length);
  }
  return table;
}

/** Combinations of the first directions that let the tick get to the mode's own step. */
function reachingStep({ first, on, off }: Reads): Uint32Array {
  // Like the rows: each direction repeats what those before it have made, once for each option.
  const digital_inputs = new Int32Array(product(first));
  let made = 1;
  for (const direction of first) {
    for (let at = direction.length - 1; at >= 0; at--) {
      const { digital_inputs: added = 0, faulting } = direction[at];
      const bits = faulting ? FAULTING : added;
      for (let before = 0; before < made; before++) digital_inputs[at * made + before] = digital_inputs[before] | bits;
    }
    made *= direction.length;
  }
  const numbers = Uint32Array.from(digital_inputs.keys());
  return numbers.filter((at) => (digital_inputs[at] & on) === on && (digital_inputs[at] & (off | FAULTING)) === 0);
}
/** A bit above those of all inputs. */
const FAULTING = 1 << 30;

function optionsAt(directions: readonly Direction[], digits: number): Option[] {
  let rest = digits;
  return directions.map((direction) => {
    const option = direction[rest % direction.length];
    rest = Math.floor(rest / direction.length);
    return option;
  });
}

/** Rows of a box to which nothing happens. */
function emptyRows(directions: readonly Direction[], count: number) {
  const set = new Set(directions.flat().flatMap((option) => valuesOf(option).map(([word]) => word)));
  const words = Int32Array.from([...set].sort((a, b) => a - b));
  const width = ROW.values + words.length;
  const rows = new Int32Array(count * width);
  for (let at = ROW.voltage; at < rows.length; at += width) rows[at] = NOTHING;
  return { words, width, rows };
}

/**
 * All combinations, from the first row on: each direction repeats what those before it have made, once for each option.
 */
function writeProduct(
  { rows, width, words }: Pick<ChoiceTable, 'rows' | 'width' | 'words'>,
  directions: readonly Direction[],
): void {
  let made = 1;
  for (const direction of directions) {
    for (let at = 1; at < direction.length; at++) rows.copyWithin(at * made * width, 0, made * width);
    direction.forEach((option, at) => {
      write(rows, width, effectsOf([option], words), at * made, made);
    });
    made *= direction.length;
  }
}

/** Columns of a row that options set, with their values; and the inputs that they add. */
interface Effect {
  readonly digital_inputs: number;
  readonly columns: readonly number[];
  readonly values: readonly number[];
}

/** Of several options: the later ones have the last word. */
function effectsOf(options: readonly Option[], words: Int32Array): Effect {
  const sets = new Map<number, number>();
  for (const option of options) {
    for (const [word, value] of valuesOf(option)) sets.set(ROW.values + words.indexOf(word), value);
    if (option.voltage !== undefined) sets.set(ROW.voltage, option.voltage);
    if (option.feed !== undefined) sets.set(ROW.feed, option.feed);
  }
  const digital_inputs = options.reduce((all, option) => all | (option.digital_inputs ?? 0), 0);
  return { digital_inputs, columns: [...sets.keys()], values: [...sets.values()] };
}

function write(
  rows: Int32Array,
  width: number,
  { digital_inputs, columns, values }: Effect,
  start: number,
  count: number,
): void {
  const end = (start + count) * width;
  for (let row = start * width; row < end; row += width) {
    rows[row + ROW.digital_inputs] |= digital_inputs;
    for (let at = 0; at < columns.length; at++) rows[row + columns[at]] = values[at];
  }
}

/** A table of one choice, made of any options. */
export function rowOf(options: readonly Option[]): ChoiceTable {
  const directions = options.map((option) => [option]);
  const table = { directions, count: 1, digits: new Float64Array(1), ...emptyRows(directions, 1) };
  writeProduct(table, directions);
  return table;
}

/** A table of some combinations of directions. @param uniform gives numbers from 0 to below 1 */
export function drawnTable(directions: readonly Direction[], count: number, uniform: () => number): ChoiceTable {
  const table = { directions, count, digits: new Float64Array(count), ...emptyRows(directions, count) };
  const { digits, rows, width, words } = table;
  for (let at = 0; at < count; at++) {
    let place = 1;
    for (const { length } of directions) {
      digits[at] += Math.floor(uniform() * length) * place;
      place *= length;
    }
    write(rows, width, effectsOf(optionsAt(directions, digits[at]), words), at, 1);
  }
  return table;
}

/** The options that make up a choice. */
export const optionsOf = ({ directions, digits }: ChoiceTable, choice: number): Option[] =>
  optionsAt(directions, digits[choice]);

const bits = new DataView(new ArrayBuffer(4));

function valuesOf({ whole = {}, real = {} }: Option): [number, number][] {
  const wholes = Object.entries(whole).map(([name, value]): [number, number] => [sequenceWord(name as never), value]);
  const reals = Object.entries(real).map(([name, value]): [number, number] => {
    bits.setFloat32(0, value);
    return [regulatorWord(name as never), bits.getInt32(0)];
  });
  return [...wholes, ...reals];
}
