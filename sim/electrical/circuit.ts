import type { BenchMachine, Divider } from './machine.js';
import { nodeVoltages, type Part } from './network.js';

/** An open part, ohm, and a shorted one; both are what the netlist says too. */
export const OPEN_OHM = 1e15;
export const SHORT_OHM = 1e-3;

/** How many of the upper resistors lie in the lead to the work; the others lie in the lead to the electrode. */
export const inPlusLead = (divider: Divider): number => Math.ceil(divider.top_resistors / 2);

/**
 * The divider as a network between `work` and the electrode, which is node `0`. `plus` and `minus` are the two
 * leads behind the protective resistors; the lower resistor, the capacitor and the input of the isolation stage
 * lie between them.
 */
export function dividerParts({ divider, isolation }: Pick<BenchMachine, 'divider' | 'isolation'>): Part[] {
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
export interface TapGain {
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
export function tapOf({ divider, isolation }: Pick<BenchMachine, 'divider' | 'isolation'>): Tap {
  const top_ohm = divider.top_resistors * divider.top_kohm * 1000;
  const lower_ohm = 1000 / (1 / divider.bottom_kohm + 1 / isolation.input_kohm);
  const ratio = 1 + top_ohm / lower_ohm;
  const source_ohm = top_ohm / ratio;
  return { ratio, source_ohm, rc_ms: source_ohm * divider.capacitor_nF * 1e-6 };
}
