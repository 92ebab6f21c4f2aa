// A divider that came ready made: what can be said of it from the little that its maker or a meter tells.
import { StandoffError } from '../base/index.js';
import { DEFAULT_LIMITS } from './limits.js';
import type { ElectricalMachine, Use } from './machine.js';

/** What is known of it. */
export interface ReadyMade {
  /** Arc volts for one volt at its output. */
  readonly ratio: number;
  /** Resistance between its two inputs, kohm; undefined: not known. */
  readonly resistance_kohm?: number | undefined;
  /** Pairs measured at low voltage: in, out, V. */
  readonly pairs?: readonly (readonly [in_V: number, out_V: number])[] | undefined;
}

/** What can be said of it. */
export interface ReadyMadeSheet {
  readonly ratio: number;
  /** Arc voltage at the top of the converter's range, V, and how far that is above the no-load voltage, %. */
  readonly full_scale_V: number;
  readonly headroom_percent: number;
  /** One step of the converter as arc voltage and as standoff. */
  readonly step_V: number;
  readonly step_mm: number;
  /** Current from its inputs at no load, mA; null where the resistance is not known. */
  readonly input_mA: number | null;
  /** Largest departure of a pair from the ratio, % of the pair; null without pairs. */
  readonly departure_percent: number | null;
  /** What does not do, one sentence each; and what cannot be known about it. */
  readonly findings: readonly string[];
  readonly unknown: readonly string[];
}

/** A pair that departs further from the ratio is no divider's; assumption: resistors of 1 % and a meter of 0.5 %. */
const DEPARTS_PERCENT = 3;

/** The ratio that pairs show: a straight line through nothing, by least squares. @throws StandoffError `pairs-none` */
export function ratioOf(pairs: readonly (readonly [in_V: number, out_V: number])[]): number {
  const [xy, yy] = pairs.reduce(([a, b], [x, y]) => [a + x * y, b + y * y], [0, 0]);
  if (yy > 0 && xy > 0) return xy / yy;
  throw new StandoffError(
    'pairs-none',
    'the pairs show no ratio',
    'measure at 10 to 60 V, plus at plus, and give in=out',
  );
}

/** Judges a ready-made divider for a supply, a converter and a use. */
export function readyMadeSheet(ready: ReadyMade, machine: ElectricalMachine, use: Use): ReadyMadeSheet {
  const { ratio, resistance_kohm, pairs = [] } = ready;
  const { converter, isolation, supply } = machine;
  const codes = 2 ** converter.bits;
  const top_V = Math.min(isolation.input_V, (converter.reference_V * (codes - 1 - converter.zero_counts)) / codes);
  const full_scale_V = ratio * top_V;
  const step_V = (ratio * converter.reference_V) / codes;
  const headroom_percent = 100 * (full_scale_V / supply.no_load_V - 1);
  const departure_percent =
    pairs.length === 0
      ? null
      : Math.max(...pairs.map(([x, y]) => (100 * Math.abs(ratio * y - x)) / Math.max(1, Math.abs(x))));
  const input_mA = resistance_kohm === undefined ? null : supply.no_load_V / resistance_kohm;
  const sheet = {
    ratio,
    full_scale_V,
    headroom_percent,
    step_V,
    step_mm: step_V / use.slope_V_per_mm,
    input_mA,
    departure_percent,
  };
  return { ...sheet, findings: findingsOf(sheet, machine, use), unknown: unknownOf(ready) };
}

const V = (value: number) => `${value.toFixed(0)} V`;

function findingsOf(
  { full_scale_V, step_V, step_mm, departure_percent, ratio }: Omit<ReadyMadeSheet, 'findings' | 'unknown'>,
  { supply, converter }: ElectricalMachine,
  { highest_V }: Use,
): string[] {
  const wanted_V = supply.no_load_V * (1 + DEFAULT_LIMITS.headroom_percent / 100);
  const least_ratio = Math.ceil((ratio * wanted_V) / full_scale_V);
  return [
    ...(full_scale_V < highest_V
      ? [
          `the converter is full at ${V(full_scale_V)}, below ${V(highest_V)} up to which the box counts an arc: it cannot be used without a second stage; a ratio of ${least_ratio} would do`,
        ]
      : full_scale_V < supply.no_load_V
        ? [
            `the converter is full at ${V(full_scale_V)}, below the no-load voltage of ${V(supply.no_load_V)}: the box takes every start for an open part; a ratio of ${least_ratio} would do`,
          ]
        : []),
    ...(full_scale_V > 10 * supply.no_load_V
      ? [
          `the converter would be full at ${V(full_scale_V)}, more than ten times the no-load voltage: a step of its ${converter.bits} bits is ${step_V.toFixed(2)} V, ${step_mm.toFixed(2)} mm; a ratio of ${least_ratio} would do`,
        ]
      : step_mm > 0.1
        ? [`one step of the converter is ${step_mm.toFixed(2)} mm of standoff`]
        : []),
    ...(departure_percent !== null && departure_percent > DEPARTS_PERCENT
      ? [
          `a pair departs by ${departure_percent.toFixed(1)} % from the ratio: it is no plain divider, or a pair is wrong`,
        ]
      : []),
  ];
}

function unknownOf({ resistance_kohm, pairs = [] }: ReadyMade): string[] {
  return [
    ...(resistance_kohm === undefined
      ? ['the resistance between its inputs: how much a touched lead carries, and what loads it']
      : []),
    ...(pairs.length < 2 ? ['whether the ratio is right: measure it at two voltages from 10 to 60 V'] : []),
    ...(pairs.every(([x]) => x >= 0) ? ['what it does with exchanged leads'] : []),
    'whether protective resistors sit in both leads at the tap, and what each may carry',
    'what each single fault in it shows, its filter, and the distances on its board',
    'whether its output is apart from the arc: if not, the box needs its own barrier',
  ];
}
