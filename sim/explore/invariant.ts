import { fieldOf } from './key.js';

/** What must hold in every tick. */
export interface Invariant {
  readonly name: string;
  /** Number of the requirement in the design; 0: of the sequence itself. */
  readonly requirement: number;
  readonly statement: string;
  /** Whether the rule has anything to say about a change from one key to another. */
  readonly concerns: (before: number, after: number) => boolean;
  /** Whether it is kept where it has; what else a tick was: bits of FACT. */
  readonly kept: (facts: number, before: number, after: number) => boolean;
}

/** A rule that asks for facts where it has something to say. */
export const requirement = (
  name: string,
  number: number,
  statement: string,
  concerns: Invariant['concerns'],
  kept: Invariant['kept'],
): Invariant => ({ name, requirement: number, statement, concerns, kept });

/** A rule about the keys alone: that it concerns them breaks it. */
export const never = (name: string, number: number, statement: string, broken: Invariant['concerns']): Invariant =>
  requirement(name, number, statement, broken, () => false);

type Name = Parameters<typeof fieldOf>[1];
export const on = (key: number, name: Name) => fieldOf(key, name) !== 0;
export const goesOn = (before: number, after: number, name: Name) => !on(before, name) && on(after, name);
export const goesOff = (before: number, after: number, name: Name) => on(before, name) && !on(after, name);
export const modeOf = (key: number) => fieldOf(key, 'mode');
export const stageOf = (key: number) => fieldOf(key, 'stage');
/** A mode that was not there before. */
export const entered = (before: number, after: number, mode: number) =>
  modeOf(before) !== mode && modeOf(after) === mode;
export const within = (key: number, first: number, last: number) => modeOf(key) >= first && modeOf(key) <= last;
/** All of some facts. */
export const all = (facts: number, bits: number) => (facts & bits) === bits;
export const none = (facts: number, bits: number) => (facts & bits) === 0;

/** The rules that a tick has broken. */
export const brokenBy = (
  rules: readonly Invariant[],
  before: number,
  after: number,
  facts: number,
): readonly Invariant[] => rules.filter((rule) => rule.concerns(before, after) && !rule.kept(facts, before, after));
