import { CONTACT, type Direction, type Option, READ_BITS, type Reads, readsOf } from './directions.js';
import { fieldOf } from './key.js';
import { NOTHING, regulatorWord, sequenceWord } from './world.js';

/** What can happen in a state, as numbers in rows. */
export interface ChoiceTable {
  readonly directions: readonly Direction[];
  readonly count: number;
  /** Words that any option sets, and for each choice their values (as 32 bits), lines, voltage, feed. */
  readonly words: Int32Array;
  readonly rows: Int32Array;
  readonly width: number;
  /** The options of a choice, as digits of one number: those of the first direction count least. */
  readonly digits: Float64Array;
}

/** Columns of a row before the values of the words. */
export const ROW = { lines: 0, voltage: 1, feed: 2, values: 3 } as const;

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

/** The combinations of what is read; of what a tick does not come to read only the first. */
function choiceTable(reads: Reads): ChoiceTable {
  const directions = [...reads.first, ...reads.last];
  const firsts = product(reads.first);
  const lasts = product(reads.last);
  const reached = Array.from({ length: firsts }, (_, at) => reachesStep(reads, at));
  const count = reached.reduce((sum, yes) => sum + (yes ? lasts : 1), 0);
  const digits = new Float64Array(count);
  let next = 0;
  for (let last = 0; last < lasts; last++) {
    for (let first = 0; first < firsts; first++) {
      if (last === 0 || reached[first]) digits[next++] = last * firsts + first;
    }
  }
  return { directions, count, digits, ...rowsOf(directions, digits) };
}

/** Whether a combination of the first directions lets the tick come to the mode's own step. */
function reachesStep({ first, on, off }: Reads, digits: number): boolean {
  let lines = 0;
  for (const option of optionsAt(first, digits)) {
    if (option.faulting) return false;
    lines |= option.lines ?? 0;
  }
  return (lines & on) === on && (lines & off) === 0;
}

function optionsAt(directions: readonly Direction[], digits: number): Option[] {
  let rest = digits;
  return directions.map((direction) => {
    const option = direction[rest % direction.length]!;
    rest = Math.floor(rest / direction.length);
    return option;
  });
}

function rowsOf(directions: readonly Direction[], digits: Float64Array) {
  const words = [...new Set(directions.flat().flatMap(wordsOf))].sort((a, b) => a - b);
  const places = new Map(words.map((word, index) => [word, ROW.values + index]));
  const width = ROW.values + words.length;
  const rows = new Int32Array(digits.length * width);
  // Looked up once for each option: the rows are many.
  const ready = directions.map((direction) =>
    direction.map((option) => ({
      ...option,
      columns: valuesOf(option).map(([word]) => places.get(word)!),
      values: valuesOf(option).map(([, value]) => value),
    })),
  );
  for (let choice = 0; choice < digits.length; choice++) {
    const start = choice * width;
    rows[start + ROW.voltage] = NOTHING;
    let rest = digits[choice]!;
    for (const direction of ready) {
      const option = direction[rest % direction.length]!;
      rest = Math.floor(rest / direction.length);
      rows[start + ROW.lines]! |= option.lines ?? 0;
      if (option.voltage !== undefined) rows[start + ROW.voltage] = option.voltage;
      if (option.feed !== undefined) rows[start + ROW.feed] = option.feed;
      for (let at = 0; at < option.columns.length; at++) rows[start + option.columns[at]!] = option.values[at]!;
    }
  }
  return { words: Int32Array.from(words), rows, width };
}

/** A table of one choice, made of any options. */
export function rowOf(options: readonly Option[]): ChoiceTable {
  const directions = options.map((option) => [option]);
  const digits = new Float64Array(1);
  return { directions, count: 1, digits, ...rowsOf(directions, digits) };
}

/** The options that make up a choice. */
export const optionsOf = ({ directions, digits }: ChoiceTable, choice: number): Option[] =>
  optionsAt(directions, digits[choice]!);

const bits = new DataView(new ArrayBuffer(4));

function valuesOf({ whole = {}, real = {} }: Option): [number, number][] {
  const wholes = Object.entries(whole).map(([name, value]): [number, number] => [sequenceWord(name as never), value]);
  const reals = Object.entries(real).map(([name, value]): [number, number] => {
    bits.setFloat32(0, value);
    return [regulatorWord(name as never), bits.getInt32(0)];
  });
  return [...wholes, ...reals];
}

const wordsOf = (option: Option): number[] => valuesOf(option).map(([word]) => word);
