import * as FACT from './fact.js';

export { FACT };

/** The refusal of a tick. */
export const refusalOf = (facts: number): number => (facts >>> (31 - Math.clz32(FACT.refusal))) & 15;

/** All of some facts. */
export const all = (facts: number, bits: number) => (facts & bits) === bits;
export const none = (facts: number, bits: number) => (facts & bits) === 0;

/** What must hold in every tick. */
export interface Invariant {
  readonly name: string;
  readonly statement: string;
  /** Whether it has anything to say about a change from one key to another. */
  readonly concerns: (before: number, after: number) => boolean;
  /** Whether it holds where it has; `facts`: bits of FACT, what else is known of the tick. */
  readonly kept: (facts: number, before: number, after: number) => boolean;
}

/** An invariant that asks for facts where it has something to say. */
export const invariant = (
  name: string,
  statement: string,
  concerns: Invariant['concerns'],
  kept: Invariant['kept'],
): Invariant => ({ name, statement, concerns, kept });

/** An invariant about the keys alone: that it concerns them breaks it. */
export const never = (name: string, statement: string, broken: Invariant['concerns']): Invariant =>
  invariant(name, statement, broken, () => false);

/** The invariants that a tick breaks. */
export const brokenBy = (
  invariants: readonly Invariant[],
  before: number,
  after: number,
  facts: number,
): readonly Invariant[] => invariants.filter((one) => one.concerns(before, after) && !one.kept(facts, before, after));
