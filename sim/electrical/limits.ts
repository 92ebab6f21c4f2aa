/** A limit that a design is asked to keep. */
export interface LimitRow {
  readonly name: LimitName;
  readonly unit: string;
  readonly min: number;
  readonly max: number;
  readonly default: number;
  /** Which side of the value is wanted. */
  readonly wanted: 'at least' | 'at most' | 'near';
  readonly meaning: string;
}

export const LIMIT_NAMES = [
  'headroom_percent',
  'wander_mm',
  'step_mm',
  'lead_mA',
  'load_percent',
  'delay_ms',
  'inverter_percent',
  'short_mm',
  'rc_ms',
] as const;
/** What can be asked of a design, with its unit. */
export type LimitName = (typeof LIMIT_NAMES)[number];
/** What is asked of a design, in the units of the names. */
export type Limits = Readonly<Record<LimitName, number>>;

/** What is asked of a design when nothing else is said. Every default is ours. */
export const LIMIT_ROWS: readonly LimitRow[] = [
  {
    name: 'headroom_percent',
    unit: '%',
    min: 0,
    max: 400,
    default: 35,
    wanted: 'at least',
    meaning: 'full scale above the no-load voltage, with unlucky parts: for mains 10 % high, ripple and spikes',
  },
  {
    name: 'wander_mm',
    unit: 'mm',
    min: 0.001,
    max: 5,
    default: 0.05,
    wanted: 'at most',
    meaning: 'standoff that half a converter step and drift over the shop’s temperatures are worth, all added up',
  },
  {
    name: 'step_mm',
    unit: 'mm',
    min: 0.001,
    max: 5,
    default: 0.03,
    wanted: 'at most',
    meaning: 'standoff that one converter step is worth',
  },
  {
    name: 'lead_mA',
    unit: 'mA',
    min: 0.001,
    max: 100,
    default: 1,
    wanted: 'at most',
    meaning: 'current from a lead that is touched at no load, with one protective resistor shorted',
  },
  {
    name: 'load_percent',
    unit: '%',
    min: 0.01,
    max: 50,
    default: 2,
    wanted: 'at most',
    meaning: 'share of the tap’s current that the next stage takes',
  },
  {
    name: 'delay_ms',
    unit: 'ms',
    min: 0.06,
    max: 20,
    default: 1,
    wanted: 'at most',
    meaning: 'delay from arc to code, with the capacitor at the top of its tolerance',
  },
  {
    name: 'inverter_percent',
    unit: '%',
    min: 0.01,
    max: 100,
    default: 5,
    wanted: 'at most',
    meaning: 'what is left of the inverter’s ripple, with the capacitor at the bottom of its tolerance',
  },
  {
    name: 'short_mm',
    unit: 'mm',
    min: 0,
    max: 50,
    default: 5,
    wanted: 'at least',
    meaning: 'apparent change of standoff by one shorted upper resistor, so that the box notices it',
  },
  {
    name: 'rc_ms',
    unit: 'ms',
    min: 0.02,
    max: 10,
    default: 0.47,
    wanted: 'near',
    meaning: 'time constant of the tap; the nearest capacitor of E12 is taken',
  },
];

/** What is asked when nothing else is said. */
export const DEFAULT_LIMITS = Object.fromEntries(LIMIT_ROWS.map((row) => [row.name, row.default])) as Limits;
