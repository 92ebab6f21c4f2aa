import { type Random, TICKS_PER_S } from '../base/index.js';
import type { TraceBlock, TraceSink } from '../run/trace/index.js';
import { type UnitLayout, unitLayout } from './case.js';
import { Effects } from './effects.js';
import type { Ranges } from './ranges.js';

/** A whole number from 0 to below `count`. */
const below = (random: Random, count: number) => Math.floor(random.uniform() * count);

/** Pairs of a kind and a moment, shuffled; when all were dealt they are shuffled again. */
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
    const card = cards[other]!;
    cards[other] = cards[from]!;
    cards[from] = card;
    this.at++;
    return [Math.floor(card / this.moments), card % this.moments];
  }
}

/** When the box changed its mode or its stage, s from power-up. */
export class Moments implements TraceSink {
  readonly at_s: number[] = [];
  private before = -1;

  block({ mode, stage, count, first_tick }: TraceBlock): void {
    for (let row = 0; row < count; row++) {
      const now = mode[row]! * 16 + stage[row]!;
      if (now !== this.before) this.at_s.push((first_tick + row) / TICKS_PER_S);
      this.before = now;
    }
  }
}

/** A place in the space of cases: the program by its number, the seed of the noise, and the numbers of the case. */
export interface Place {
  readonly index: number;
  readonly seed: number;
  readonly units: Float64Array;
}

/** A place to start from. */
export interface Start extends Place {
  /** When its box changed its mode, as shares of the duration. */
  readonly moments: readonly number[];
  /** The change that brought it here and made the margin smaller; null: there was none. */
  readonly lead: Float64Array | null;
}

/** Chance that a quantity of a dealt, of a leaning cut stands at an end of its range. */
const DEALT_ENDS = 0.25;
const LEANING_ENDS = 0.75;
/** Chance that a dealt cut has a fault; and that it has an act of the operator as well. */
const WITH_FAULT = 0.7;
const WITH_BOTH = 0.4;
/** Chance that the change that led to a cut is made again, longer or shorter. */
const AGAIN = 0.4;
/** Farthest from a moment, as a share of the duration; near is likelier than far. */
const FARTHEST = 0.1;
/** Of a changed cut: chance that noise, program change; that one more thing is changed. */
const NEW_SEED = 0.4;
const NEW_PROGRAM = 0.1;
const ANOTHER = 0.5;
/** Widest step of a number; narrow ones, down to a thousandth of it, are as likely as wide ones. */
const STEP = 0.2;

/** Draws places: dealt from decks, leaning to what has gone with small margins, or near one that was tried. */
export class Draws {
  private readonly layout: UnitLayout;
  private readonly fault_decks: readonly Deck[];
  private readonly act_decks: readonly Deck[];
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
    this.act_decks = moments.map(({ length }) => new Deck(random, this.layout.act_kinds, length));
  }

  /** Takes in what a place came to. */
  learn({ units }: Place, margin: number): void {
    if (!Number.isFinite(margin)) return;
    this.effects.add(this.featuresOf(units), margin);
  }

  /** What may matter: each quantity, and whether there is a fault, an act of the operator. */
  private featuresOf(units: Float64Array): Float64Array {
    const { layout } = this;
    const features = new Float64Array(layout.quantities + 2);
    features.set(units.subarray(0, layout.quantities));
    features[layout.quantities] = layout.faults.some(({ there, chance }) => units[there]! < chance) ? 1 : 0;
    features[layout.quantities + 1] = this.actsIn(units) > 0 ? 1 : 0;
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
    const [act] = layout.acts;
    const with_fault = fault !== undefined && (act === undefined || random.chance(WITH_FAULT));
    if (with_fault) {
      const [kind, moment] = this.fault_decks[index]!.next();
      this.putFault(units, fault, kind, this.about(this.moments[index]![moment]!));
    }
    if (act !== undefined && (!with_fault || random.chance(WITH_BOTH))) {
      const [kind, moment] = this.act_decks[index]!.next();
      this.putAct(units, act, kind, this.about(this.moments[index]![moment]!));
    }
    return { index, seed: this.newSeed(), units };
  }

  /** With the quantities at those ends that have gone with small margins; so with faults and acts at all. */
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

  /** One that was tried with something changed. @param others whose faults and acts may be taken over */
  near(one: Start, others: readonly Place[]): Place {
    const { random, layout, moments } = this;
    const units = one.units.slice();
    if (one.lead !== null && random.chance(AGAIN)) {
      const far = random.uniform();
      const share = 2 * far * far * (random.chance(0.2) ? -1 : 1);
      for (let at = 0; at < units.length; at++) {
        if (one.lead[at] !== 0) units[at] = this.stepped(folded(units[at]! + share * one.lead[at]!));
      }
      return { index: one.index, seed: one.seed, units };
    }
    do {
      const what = random.uniform();
      if (what < 0.3 && layout.faults.length > 0) this.changeFault(units, one.moments);
      else if (what < 0.6 && layout.acts.length > 0) this.changeAct(units, one.moments);
      else this.changeQuantity(units);
      if (random.chance(0.1)) this.takeOver(units, others[below(random, others.length)]!.units);
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
    else units[at] = how < 0.6 ? random.uniform() : this.stepped(units[at]!);
  }

  private changeFault(units: Float64Array, moments: readonly number[]): void {
    const { random, layout } = this;
    const fault = layout.faults[below(random, layout.faults.length)]!;
    if (random.chance(0.4)) {
      this.putFault(units, fault, below(random, layout.fault_kinds), this.at(moments));
      return;
    }
    const what = below(random, 4);
    if (what === 0) units[fault.there] = random.uniform();
    else if (what === 1) units[fault.when] = this.moved(units[fault.when]!, moments);
    else {
      const at = what === 2 ? fault.length : fault.value;
      units[at] = random.chance(0.5) ? random.uniform() : this.stepped(units[at]!);
    }
  }

  private changeAct(units: Float64Array, moments: readonly number[]): void {
    const { random, layout } = this;
    const act = layout.acts[below(random, Math.min(layout.acts.length, this.actsIn(units) + 1))]!;
    const what = random.uniform();
    if (what < 0.1) units[layout.acting] = random.uniform();
    else if (what < 0.4) units[act.when] = this.moved(units[act.when]!, moments);
    else if (what < 0.5) units[act.on] = random.uniform();
    else if (what < 0.7) units[act.on] = this.stepped(units[act.on]!);
    else this.putAct(units, act, below(random, layout.act_kinds), this.at(moments));
  }

  private takeOver(units: Float64Array, other: Float64Array): void {
    const { random, layout } = this;
    const at = below(random, layout.quantities);
    if (random.chance(0.5)) units[at] = other[at]!;
    else units.set(other.subarray(layout.quantities), layout.quantities);
  }

  private actsIn(units: Float64Array): number {
    return this.layout.actsOf(units[this.layout.acting]!);
  }

  /** The end that goes with small margins, as far as that is known. */
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
    return moments.length === 0 ? this.random.uniform() : this.about(moments[below(this.random, moments.length)]!);
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

  private putAct(units: Float64Array, act: UnitLayout['acts'][number], kind: number, when: number): void {
    const { layout, random } = this;
    // At least as many acts as to make this one count.
    const needed = layout.acts.indexOf(act) + 1;
    if (this.actsIn(units) < needed) units[layout.acting] = layout.actingFor(needed);
    const [what, on] = layout.actAt(kind);
    units[act.what] = what;
    units[act.when] = when;
    units[act.on] = on ?? random.uniform();
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
