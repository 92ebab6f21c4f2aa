import { budgetOf, scaleOf } from './budget.js';
import { tapOf } from './circuit.js';
import { filterOf } from './filter.js';
import { LIMIT_ROWS, type LimitName, type Limits } from './limits.js';
import type { Divider, ElectricalMachine, Use } from './machine.js';
import { preferredValues } from './parts.js';
import { DERATING, touchOf } from './stress.js';

/** What a design comes to in the terms of the limits. */
export type LimitFigures = Readonly<Record<LimitName, number>>;

/** One proposal. */
export interface Proposal {
  readonly machine: ElectricalMachine;
  readonly ratio: number;
  readonly figures: LimitFigures;
}

/** What a search found, and why there is nothing where there is nothing. */
export interface SearchResult {
  readonly proposals: readonly Proposal[];
  /** Combinations of resistors that were looked at, and that kept every limit. */
  readonly tried: number;
  readonly kept: number;
  /** Without a proposal: how many combinations each limit, or the parts' ratings, refused first. */
  readonly refused: Readonly<Record<string, number>>;
}

/** Upper resistors from 10 kΩ to 10 MΩ, lower ones from 100 Ω to 1 MΩ, two to twelve upper ones. */
const TOP_KOHM = [10, 10_000] as const;
const BOTTOM_KOHM = [0.1, 1000] as const;
const MOST_TOPS = 12;
const CAPACITORS_NF = preferredValues(12, 0.1, 10_000);

/** A machine's figures in the terms of the limits. */
export function limitFigures(machine: ElectricalMachine, use: Use): LimitFigures {
  const budget = budgetOf(machine, use);
  const filter = filterOf(machine, use);
  const { divider, isolation } = machine;
  const { ratio, rc_ms } = tapOf(machine);
  const unlucky = (capacitor_percent: number): ElectricalMachine => ({
    ...machine,
    divider: { ...divider, capacitor_nF: divider.capacitor_nF * (1 + capacitor_percent / 100) },
  });
  return {
    headroom_percent: scaleOf(machine).headroom_percent,
    wander_mm: budget.wander.worst_mm,
    step_mm: budget.step_mm,
    lead_mA: touchOf(machine).fault_mA,
    load_percent: loadPercent(divider.bottom_kohm, isolation.input_kohm),
    delay_ms: filter.delay_ms + filter.most_rc_ms - filter.rc_ms,
    inverter_percent: 100 * filterOf(unlucky(-divider.capacitor_percent), use).inverter_share,
    short_mm: shortOf_mm(ratio, divider.top_resistors, use),
    rc_ms,
  };
}

/** The limits that figures do not keep. */
export const violatedLimits = (figures: LimitFigures, limits: Limits): LimitName[] =>
  LIMIT_ROWS.filter(({ name, wanted }) => {
    if (wanted === 'near') return false;
    return wanted === 'at most' ? !(figures[name] <= limits[name]) : !(figures[name] >= limits[name]);
  }).map(({ name }) => name);

const loadPercent = (bottom_kohm: number, input_kohm: number) => (100 * bottom_kohm) / (bottom_kohm + input_kohm);

/** One of n upper resistors shorted: the voltage reads high by ratio / ratio with n − 1. */
function shortOf_mm(ratio: number, top_resistors: number, use: Use): number {
  const left = 1 + ((ratio - 1) * (top_resistors - 1)) / top_resistors;
  return (use.target_V * (ratio / left - 1)) / use.slope_V_per_mm;
}

/**
 * Every series combination of upper resistors (n equal ones) and lower resistor, with the capacitor nearest to the
 * wanted time constant. Kept are those that keep every limit and rating, with the parts at the unlucky end of their
 * tolerance. Ranked by: standoff wander to 0.001 mm, then fewer resistors, then a ratio near a multiple of ten (a
 * meter at the tap is then easily read), then less current in the leads.
 * @param machine parts at hand and the stages that follow; its own resistors and capacitor are not looked at
 */
export function searchDesigns(machine: ElectricalMachine, use: Use, limits: Limits, most = 5): SearchResult {
  const { series } = machine.divider;
  const bottoms = preferredValues(series, ...BOTTOM_KOHM);
  const tops = preferredValues(series, ...TOP_KOHM);
  const refused: Record<string, number> = {};
  const refuse = (why: string, count = 1) => {
    refused[why] = (refused[why] ?? 0) + count;
  };
  const kept: Proposal[] = [];
  let tried = 0;
  for (let top_resistors = 2; top_resistors <= MOST_TOPS; top_resistors++) {
    for (const top_kohm of tops) {
      tried += bottoms.length;
      const unfit = unfitUpper(machine, top_resistors, top_kohm, limits);
      if (unfit) {
        refuse(unfit, bottoms.length);
        continue;
      }
      for (const bottom_kohm of bottoms) {
        const divider = { ...machine.divider, top_resistors, top_kohm, bottom_kohm };
        const quick = quickRefusal(machine, divider, use, limits);
        if (quick) {
          refuse(quick);
          continue;
        }
        const found = {
          ...machine,
          divider: { ...divider, capacitor_nF: capacitorFor(machine, divider, limits.rc_ms) },
        };
        const figures = limitFigures(found, use);
        const violated = violatedLimits(figures, limits)[0];
        if (violated) refuse(violated);
        else if (scaleOf(found).least_full_scale_V < use.highest_V) refuse('working range');
        else kept.push({ machine: found, ratio: tapOf(found).ratio, figures });
      }
    }
  }
  const proposals = kept.sort(byRank).slice(0, most);
  return { proposals, tried, kept: kept.length, refused };
}

/** Why the upper resistors alone will not do: touch current and ratings, in closed form and a little too strict. */
function unfitUpper(machine: ElectricalMachine, top_resistors: number, top_kohm: number, limits: Limits): string {
  const { supply, divider } = machine;
  const fewest = Math.floor(top_resistors / 2);
  const least_kohm = top_kohm * (1 - divider.tolerance_percent / 100);
  if (supply.no_load_V / ((fewest - 1) * least_kohm) > limits.lead_mA) return 'lead_mA';
  const volts = supply.no_load_V / top_resistors;
  const fault_V = supply.no_load_V / fewest;
  const watts = (voltage: number) => voltage ** 2 / (least_kohm * 1000);
  const fits =
    volts <= DERATING.voltage * divider.resistor_V &&
    watts(volts) <= DERATING.power * divider.resistor_W &&
    fault_V <= divider.resistor_V &&
    watts(fault_V) <= divider.resistor_W;
  return fits ? '' : 'ratings of the upper resistors';
}

/** The limits that need no capacitor, without building anything: most combinations end here. */
function quickRefusal(machine: ElectricalMachine, divider: Divider, use: Use, limits: Limits): string {
  const { isolation, converter, supply } = machine;
  if (loadPercent(divider.bottom_kohm, isolation.input_kohm) > limits.load_percent) return 'load_percent';
  const ratio = 1 + divider.top_resistors * divider.top_kohm * (1 / divider.bottom_kohm + 1 / isolation.input_kohm);
  const step_V = (ratio * converter.reference_V) / 2 ** converter.bits;
  if (step_V / use.slope_V_per_mm > limits.step_mm) return 'step_mm';
  const full_scale_V = ratio * Math.min(converter.reference_V, isolation.input_V);
  if (full_scale_V < supply.no_load_V) return 'headroom_percent';
  const lower_W = (ohm_ratio: number) => (supply.no_load_V / ohm_ratio) ** 2 / (divider.bottom_kohm * 1000);
  const bridged = 1 + ((ratio - 1) * Math.floor(divider.top_resistors / 2)) / divider.top_resistors;
  const fits = lower_W(ratio) <= DERATING.power * divider.resistor_W && lower_W(bridged) <= divider.resistor_W;
  return fits ? '' : 'ratings of the lower resistor';
}

function capacitorFor(machine: ElectricalMachine, divider: Divider, rc_ms: number): number {
  const { source_ohm } = tapOf({ divider, isolation: machine.isolation });
  const wanted_nF = rc_ms / (source_ohm * 1e-6);
  const away = (value: number) => Math.abs(Math.log(value / wanted_nF));
  return CAPACITORS_NF.reduce((best, next) => (away(next) < away(best) ? next : best));
}

const fromTen = (ratio: number) => Math.round(10_000 * Math.abs(ratio / (10 * Math.round(ratio / 10)) - 1)) / 10_000;

function byRank(a: Proposal, b: Proposal): number {
  const keys = ({ machine, ratio, figures }: Proposal) => [
    Math.ceil(figures.wander_mm * 1000),
    machine.divider.top_resistors,
    fromTen(ratio),
    figures.lead_mA,
    machine.divider.bottom_kohm,
  ];
  const left = keys(a);
  const right = keys(b);
  const differs = left.findIndex((key, place) => key !== right[place]);
  return differs < 0 ? 0 : left[differs] - right[differs];
}
