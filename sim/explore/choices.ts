import { CONTACT, type Direction, type Option } from './directions.js';
import { fieldOf } from './key.js';
import { READ_BITS, type Reads, readsOf } from './reads.js';
import { NOTHING, regulatorWord, sequenceWord } from './world.js';

/**
 * What can happen in a state. A choice is a number: its digits say which option is taken in each direction, those of the first
 * direction count least.
 */
export interface ChoiceTable {
  readonly directions: readonly Direction[];
  /** So many directions are read whatever happens; the others only where the mode's own step is reached. */
  readonly firsts: number;
  /** Inputs that must be on, and off, for that. */
  readonly on: number;
  readonly off: number;
  /** Choices that exist: of what a tick does not get to read, only the first option. */
  readonly count: number;
  /** Words of the state that any option sets, in order; without an option that does they are 0. */
  readonly words: readonly number[];
}

/** Tables by what they depend on, each made when it is first asked for. */
export class Choices {
  private readonly tables = new Map<number, ChoiceTable>();

  constructor(private readonly supply_contact: boolean) {}

  of(key: number): ChoiceTable {
    const kind = (key & READ_BITS) >>> 0;
    let table = this.tables.get(kind);
    if (table === undefined) {
      const reads = readsOf(key);
      const contact = this.supply_contact && fieldOf(key, 'trigger') !== 0;
      table = choiceTable(contact ? { ...reads, first: [CONTACT, ...reads.first] } : reads);
      this.tables.set(kind, table);
    }
    return table;
  }
}

const product = (directions: readonly Direction[]) => directions.reduce((all, { length }) => all * length, 1);

function choiceTable({ first, last, on, off }: Reads): ChoiceTable {
  for (const direction of first) mustBeUsual(direction, on, off);
  return {
    ...tableOf([...first, ...last]),
    ...{ firsts: first.length, on, off },
    count: product(first) + (product(last) - 1) * reaching(first, on, off),
  };
}

/** A table without conditions. */
const tableOf = (directions: readonly Direction[]): ChoiceTable => ({
  directions,
  ...{ firsts: directions.length, on: 0, off: 0 },
  count: product(directions),
  words: [...new Set(directions.flat().flatMap((option) => [...effectOf(option).keys()]))].sort((a, b) => a - b),
});

/** Whoever skips a direction stands for all its options by the first: where any gets to the mode's own step the first does. */
function mustBeUsual([usual, ...others]: Direction, on: number, off: number): void {
  const lines = ({ digital_inputs = 0 }: Option) => digital_inputs;
  const lacking = others.some((other) => (lines(other) & on & ~lines(usual)) !== 0);
  if (lacking || usual.faulting === true || (lines(usual) & off) !== 0)
    throw new Error(`the first option must get to the mode's own step: ${others[0]?.say}`);
}

/** How many combinations of the first directions let the tick get to the mode's own step. */
function reaching(first: readonly Direction[], on: number, off: number): number {
  let counts = new Map([[0, 1]]);
  for (const direction of first) {
    const next = new Map<number, number>();
    for (const [lines, count] of counts) {
      for (const { digital_inputs = 0, faulting } of direction) {
        if (faulting) continue;
        const all = lines | (digital_inputs & (on | off));
        next.set(all, (next.get(all) ?? 0) + count);
      }
    }
    counts = next;
  }
  return counts.get(on) ?? 0;
}

/** A table of one choice, 0, made of any options. */
export const rowOf = (options: readonly Option[]): ChoiceTable => tableOf(options.map((option) => [option]));

/** Any directions, and some combinations of them: for each the digits. @param uniform gives numbers from 0 to below 1 */
export function drawn(directions: readonly Direction[], count: number, uniform: () => number) {
  const digits = Array.from({ length: count }, () => directions.map(({ length }) => Math.floor(uniform() * length)));
  return { table: tableOf(directions), digits: Uint8Array.from(digits.flat()) };
}

/** The options that make up a choice. */
export function optionsOf({ directions }: ChoiceTable, choice: number): Option[] {
  let rest = choice;
  return directions.map((direction) => {
    const option = direction[rest % direction.length];
    rest = Math.floor(rest / direction.length);
    return option;
  });
}

/** What a choice makes of a box to which nothing happens. Of several options the later ones have the last word. */
export function chosen(table: ChoiceTable, choice: number) {
  const options = optionsOf(table, choice);
  const values = new Map(table.words.map((word) => [word, 0]));
  for (const option of options) for (const [word, value] of effectOf(option)) values.set(word, value);
  return {
    digital_inputs: options.reduce((all, { digital_inputs = 0 }) => all | digital_inputs, 0),
    voltage: options.reduce((before, { voltage }) => voltage ?? before, NOTHING),
    feed: options.reduce((before, { feed }) => feed ?? before, 0),
    values,
  };
}

const bits = new DataView(new ArrayBuffer(4));
const effects = new WeakMap<Option, ReadonlyMap<number, number>>();

/** Words of the state that an option sets, with their values as 32 bits. */
export function effectOf(option: Option): ReadonlyMap<number, number> {
  const known = effects.get(option);
  if (known !== undefined) return known;
  const effect = new Map<number, number>();
  for (const [name, value] of Object.entries(option.whole ?? {})) effect.set(sequenceWord(name as never), value);
  for (const [name, value] of Object.entries(option.real ?? {})) {
    bits.setFloat32(0, value);
    effect.set(regulatorWord(name as never), bits.getInt32(0));
  }
  effects.set(option, effect);
  return effect;
}
