// How points are drawn; apart from search.ts, which would be too long with it.
import type { Random } from '../base/index.js';
import { type UnitLayout, unitLayout } from './case.js';
import type { Ranges } from './ranges.js';

/**
 * A point in the space of cases: the number that chooses the program, the seed of the noise, and the numbers of the
 * case.
 */
export interface Place {
  readonly index: number;
  readonly seed: number;
  readonly units: Float64Array;
}

/** A point to start from. */
export interface Start extends Place {
  /** When its box changed mode, as shares of the duration. */
  readonly moments: readonly number[];
  /** The change that led here and made the margin smaller; null: there was none. */
  readonly lead: Float64Array | null;
}

/** Chance that a quantity is at an end of its range, in a dealt cut and in a leaning one. */
const DEALT_ENDS = 0.25;
const LEANING_ENDS = 0.75;
/** Chance that a dealt cut has a fault; and that it has an operator action as well. */
const WITH_FAULT = 0.7;
const WITH_BOTH = 0.4;
/** Chance that the change that led to a cut is repeated, longer or shorter. */
const AGAIN = 0.4;
/** Farthest from a moment, as a share of the duration; near is more likely than far. */
const FARTHEST = 0.1;
/** Of a changed cut: chance of other noise, of another program; that one more thing is changed. */
const NEW_SEED = 0.4;
const NEW_PROGRAM = 0.1;
const ANOTHER = 0.5;
/** Widest step of a number; narrow ones, down to a thousandth of it, are just as likely. */
const STEP = 0.2;

/** Draws points: dealt from decks, leaning to what went with small margins, or near one that was tried. */
export class Draws {
  private readonly layout: UnitLayout;
  private readonly fault_decks: readonly Deck[];
  private readonly action_decks: readonly Deck[];
  private readonly effects: Effects;
  private programs = 0;

  /** @param moments of each program, as shares of its duration */
  constructor(
    private readonly random: Random,
    ranges: Ranges,
    private readonly moments: readonly (readonly number[])[],
  ) {
    this.layout = unitLayout(ranges);
    this.effects = new Effects(this.layout.quantities + 2);
    this.fault_decks = moments.map(({ length }) => new Deck(random, this.layout.fault_kinds, length));
    this.action_decks = moments.map(({ length }) => new Deck(random, this.layout.action_kinds, length));
  }

  /** Learns from the margin of a point. */
  learn({ units }: Place, margin: number): void {
    if (!Number.isFinite(margin)) return;
    this.effects.add(this.featuresOf(units), margin);
  }

  /** What may matter: each quantity, and whether there is a fault, an operator action. */
  private featuresOf(units: Float64Array): Float64Array {
    const { layout } = this;
    const features = new Float64Array(layout.quantities + 2);
    features.set(units.subarray(0, layout.quantities));
    features[layout.quantities] = layout.faults.some(({ there, chance }) => units[there] < chance) ? 1 : 0;
    features[layout.quantities + 1] = this.actionsIn(units) > 0 ? 1 : 0;
    return features;
  }

  /** From the decks: what can happen, at the moments at which it may matter. */
  dealt(): Place {
    const { random, layout } = this;
    const index = this.programs++ % this.moments.length;
    const units = this.uniform();
    for (let at = 0; at < layout.quantities; at++) {
      if (random.chance(DEALT_ENDS)) units[at] = random.chance(0.5) ? 1 : 0;
    }
    const [fault] = layout.faults;
    const [action] = layout.actions;
    const with_fault = fault !== undefined && (action === undefined || random.chance(WITH_FAULT));
    if (with_fault) {
      const [kind, moment] = this.fault_decks[index].next();
      this.putFault(units, fault, kind, this.about(this.moments[index][moment]));
    }
    if (action !== undefined && (!with_fault || random.chance(WITH_BOTH))) {
      const [kind, moment] = this.action_decks[index].next();
      this.putAction(units, action, kind, this.about(this.moments[index][moment]));
    }
    return { index, seed: this.newSeed(), units };
  }

  /** With the quantities at the ends that went with small margins; likewise faults and operator actions. */
  leaning(): Place {
    const { random, layout, effects } = this;
    const units = this.uniform();
    for (let at = 0; at < layout.quantities; at++) {
      if (random.chance(LEANING_ENDS)) units[at] = this.worseEnd(at);
    }
    if (!random.chance(effects.upperChance(layout.quantities))) {
      for (const { there } of layout.faults) units[there] = 1;
    }
    if (!random.chance(effects.upperChance(layout.quantities + 1))) units[layout.acting] = 1;
    return { index: this.programs++ % this.moments.length, seed: this.newSeed(), units };
  }

  private uniform(): Float64Array {
    return new Float64Array(this.layout.size).map(() => this.random.uniform());
  }

  /** A point that was tried, with something changed. @param others whose faults and operator actions may be copied */
  near(one: Start, others: readonly Place[]): Place {
    const { random, layout, moments } = this;
    const units = one.units.slice();
    if (one.lead !== null && random.chance(AGAIN)) {
      const far = random.uniform();
      const share = 2 * far * far * (random.chance(0.2) ? -1 : 1);
      for (let at = 0; at < units.length; at++) {
        if (one.lead[at] !== 0) units[at] = this.stepped(folded(units[at] + share * one.lead[at]));
      }
      return { index: one.index, seed: one.seed, units };
    }
    do {
      const what = random.uniform();
      if (what < 0.3 && layout.faults.length > 0) this.changeFault(units, one.moments);
      else if (what < 0.6 && layout.actions.length > 0) this.changeAction(units, one.moments);
      else this.changeQuantity(units);
      if (random.chance(0.1)) this.takeOver(units, others[below(random, others.length)].units);
    } while (random.chance(ANOTHER));
    return {
      index: random.chance(NEW_PROGRAM) ? below(random, moments.length) : one.index,
      seed: random.chance(NEW_SEED) ? this.newSeed() : one.seed,
      units,
    };
  }

  private changeQuantity(units: Float64Array): void {
    const { random, layout } = this;
    const at = below(random, layout.quantities);
    const how = random.uniform();
    if (how < 0.4) units[at] = this.worseEnd(at);
    else units[at] = how < 0.6 ? random.uniform() : this.stepped(units[at]);
  }

  private changeFault(units: Float64Array, moments: readonly number[]): void {
    const { random, layout } = this;
    const fault = layout.faults[below(random, layout.faults.length)];
    if (random.chance(0.4)) {
      this.putFault(units, fault, below(random, layout.fault_kinds), this.at(moments));
      return;
    }
    const what = below(random, 4);
    if (what === 0) units[fault.there] = random.uniform();
    else if (what === 1) units[fault.when] = this.moved(units[fault.when], moments);
    else {
      const at = what === 2 ? fault.length : fault.value;
      units[at] = random.chance(0.5) ? random.uniform() : this.stepped(units[at]);
    }
  }

  private changeAction(units: Float64Array, moments: readonly number[]): void {
    const { random, layout } = this;
    const action = layout.actions[below(random, Math.min(layout.actions.length, this.actionsIn(units) + 1))];
    const what = random.uniform();
    if (what < 0.1) units[layout.acting] = random.uniform();
    else if (what < 0.4) units[action.when] = this.moved(units[action.when], moments);
    else if (what < 0.5) units[action.on] = random.uniform();
    else if (what < 0.7) units[action.on] = this.stepped(units[action.on]);
    else this.putAction(units, action, below(random, layout.action_kinds), this.at(moments));
  }

  private takeOver(units: Float64Array, other: Float64Array): void {
    const { random, layout } = this;
    const at = below(random, layout.quantities);
    if (random.chance(0.5)) units[at] = other[at];
    else units.set(other.subarray(layout.quantities), layout.quantities);
  }

  private actionsIn(units: Float64Array): number {
    return this.layout.actionsOf(units[this.layout.acting]);
  }

  /** The end that goes with small margins, as far as is known. */
  private worseEnd(at: number): number {
    return this.random.chance(this.effects.upperChance(at)) ? 1 : 0;
  }

  /** A step, wide or narrow. */
  private stepped(value: number): number {
    const { random } = this;
    const share = random.uniform();
    return folded(value + STEP * share * share * share * share * random.gaussian());
  }

  private moved(at: number, moments: readonly number[]): number {
    const { random } = this;
    return random.chance(0.6) ? this.about(at) : this.at(moments);
  }

  /** At one of the moments. */
  private at(moments: readonly number[]): number {
    return moments.length === 0 ? this.random.uniform() : this.about(moments[below(this.random, moments.length)]);
  }

  /** Shortly before or after. */
  private about(share: number): number {
    const { random } = this;
    const far = random.uniform();
    const distance = FARTHEST * far * far * far * far * far;
    return Math.min(1, Math.max(0, share + (random.chance(0.5) ? distance : -distance)));
  }

  private putFault(units: Float64Array, fault: UnitLayout['faults'][number], kind: number, when: number): void {
    units[fault.there] = 0;
    units[fault.kind] = (kind + 0.5) / this.layout.fault_kinds;
    units[fault.when] = when;
  }

  private putAction(units: Float64Array, action: UnitLayout['actions'][number], kind: number, when: number): void {
    const { layout, random } = this;
    // At least as many actions as make this one count.
    const needed = layout.actions.indexOf(action) + 1;
    if (this.actionsIn(units) < needed) units[layout.acting] = layout.actingFor(needed);
    const [what, on] = layout.unitsOfAction(kind);
    units[action.what] = what;
    units[action.when] = when;
    units[action.on] = on ?? random.uniform();
  }

  private newSeed(): number {
    return this.random.next_u32() >>> 1;
  }
}

/** Back into 0…1. */
function folded(value: number): number {
  const wrapped = Math.abs(value) % 2;
  return wrapped > 1 ? 2 - wrapped : wrapped;
}

/** A whole number from 0 to below `count`. */
const below = (random: Random, count: number) => Math.floor(random.uniform() * count);

/** Pairs of a kind and a moment, shuffled; when all are dealt they are shuffled again. */
export class Deck {
  private readonly cards: number[];
  private at = 0;

  constructor(
    private readonly random: Random,
    kinds: number,
    private readonly moments: number,
  ) {
    this.cards = Array.from({ length: kinds * moments }, (_, card) => card);
  }

  next(): readonly [kind: number, moment: number] {
    const { random, cards } = this;
    const from = this.at % cards.length;
    const other = from + below(random, cards.length - from);
    const card = cards[other];
    cards[other] = cards[from];
    cards[from] = card;
    this.at++;
    return [Math.floor(card / this.moments), card % this.moments];
  }
}

/**
 * Which end of each quantity goes with small margins, as far as the cuts so far show: the mean of the quantity in the
 * cuts with the smallest margins, compared with all cuts, and how sure the difference is.
 */
export class Effects {
  private readonly seen: { readonly values: Float64Array; readonly margin: number }[] = [];
  private readonly chances: Float64Array;

  constructor(size: number) {
    this.chances = new Float64Array(size).fill(0.5);
  }

  add(values: Float64Array, margin: number): void {
    this.seen.push({ values, margin });
    if (this.seen.length % OFTEN === 0) this.compute();
  }

  /** Chance to draw the upper end: ½ where nothing is known, near 1 where it is surely worse. */
  upperChance(at: number): number {
    return this.chances[at];
  }

  private compute(): void {
    const { seen, chances } = this;
    const count = Math.max(FEWEST, Math.floor(seen.length * SHARE));
    const least = seen.toSorted((a, b) => a.margin - b.margin).slice(0, count);
    for (let at = 0; at < chances.length; at++) {
      const all = moments(seen, at);
      const low = moments(least, at);
      const error = Math.sqrt((all.square - all.mean * all.mean) / count);
      const sure = error > 0 ? (low.mean - all.mean) / error : 0;
      chances[at] = 0.5 + (0.5 * sure) / Math.sqrt(DOUBT * DOUBT + sure * sure);
    }
  }
}

/**
 * Cuts between two computations; share, and least number, of the cuts that count as those with the smallest margins.
 */
const OFTEN = 16;
const SHARE = 0.1;
const FEWEST = 6;
/** This many standard errors shift the chance by 0.35. */
const DOUBT = 1.5;

function moments(list: readonly { readonly values: Float64Array }[], at: number) {
  let sum = 0;
  let squares = 0;
  for (const { values } of list) {
    sum += values[at];
    squares += values[at] ** 2;
  }
  return { mean: sum / list.length, square: squares / list.length };
}
