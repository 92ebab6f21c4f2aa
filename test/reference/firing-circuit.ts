import { simulateCircuit } from './ngspice.js';

/**
 * The firing circuit of hardware-notes/firing.md: push-pull stage, two coupling capacitors in series, two diodes,
 * reservoir, key and stop chain contacts, coil with its clamp. Values are those of the page.
 */
export const VALUES = {
  supply_V: 24,
  /** What the two transistors of the stage leave of the supply's swing, together. */
  stage_loss_V: 1.4,
  stage_ohm: 47,
  coupling_uF: 12,
  balance_kohm: 1000,
  reservoir_uF: 22,
  bleed_kohm: 10,
  /** 12 V, 0.3 W. */
  coil_ohm: 480,
  /** Assumed; a coil of this size has some tenths of a henry. */
  coil_H: 0.6,
  clamp_V: 24,
  /** The trigger pin is toggled once a tick: one period in two ticks. */
  pulse_Hz: 500,
} as const;
export type Values = { readonly [Name in keyof typeof VALUES]: number };

const COIL_V = 12;
/** From memory, as many data sheets have it: a relay closes at 75 % of its voltage and opens at 10 %, at 23 °C. */
const MUST_CLOSE = 0.75;
const MUST_OPEN = 0.1;
/** The same as currents of the nominal coil, mA: it is current that pulls. */
export const CLOSES_MA = (1000 * MUST_CLOSE * COIL_V) / VALUES.coil_ohm;
export const OPENS_MA = (1000 * MUST_OPEN * COIL_V) / VALUES.coil_ohm;

export type Failure = 'open' | 'shorted';
export interface Broken {
  readonly part: string;
  readonly failure: Failure;
}

/**
 * What the pin does. The pulses end at STOP_ms in the middle of a half period, just after charge has come over: the
 * latest release. `never, then high`: one rising edge and no more.
 */
export type Drive = 'pulses, then low' | 'pulses, then high' | 'never, then high';

export interface Answer {
  /** Mean current of the coil while the pulses run, mA. */
  readonly held_mA: number;
  /** Largest and least voltage of the reservoir while they run, V. */
  readonly most_V: number;
  /** Highest current of the coil before the pulses end, mA. */
  readonly peak_mA: number;
  /** From the first pulse, for how long the coil's current is one that must close the relay before it falls again, ms. */
  readonly first_held_ms: number;
  /** From the first pulse until the coil's current must close the relay, ms; undefined: it never does. */
  readonly closing_ms: number | undefined;
  /** From the last moment of the pulses until the coil's current must open the relay, ms; Infinity: it never does. */
  readonly opening_ms: number;
  /** Current of the coil at the end, mA. */
  readonly left_mA: number;
}

const FIRST_ms = 1;
const STOP_ms = 149.5;
const END_ms = 260;
/** The contacts of key or chain open here instead, with the pulses going on. */
export const CHAIN_OPENS_ms = STOP_ms;

const OPEN_OHM = 1e9;
const SHORT_OHM = 0.01;

/** Name, nodes and what it is when sound; in the order of the page's table. */
const PARTS: readonly (readonly [name: string, from: string, to: string, sound: (v: Values) => string])[] = [
  ['R1', 'stage', 'a', (v) => `${v.stage_ohm}`],
  ['C1', 'a', 'b', (v) => `${v.coupling_uF}u`],
  ['C2', 'b', 'c', (v) => `${v.coupling_uF}u`],
  ['R2', 'a', 'b', (v) => `${v.balance_kohm}k`],
  ['R3', 'b', 'c', (v) => `${v.balance_kohm}k`],
  ['D1', '0', 'c', () => 'SCHOTTKY'],
  ['D2', 'c', 'out', () => 'SCHOTTKY'],
  ['C3', 'out', '0', (v) => `${v.reservoir_uF}u`],
  ['R4', 'out', '0', (v) => `${v.bleed_kohm}k`],
  ['KEY contact', 'out', 'key', () => '0.1'],
  ['STOP contact', 'key', 'top', () => '0.1'],
  ['coil', 'top', 'inner', (v) => `${v.coil_H}`],
  ['D3', '0', 'clamp', () => 'SCHOTTKY'],
  ['D4', 'top', 'clamp', () => 'ZENER'],
];
export const PART_NAMES = PARTS.map(([name]) => name);
/** First letter of an element by the kind of part. */
const KINDS: Readonly<Record<string, string>> = { R: 'R', C: 'C', D: 'D', K: 'R', S: 'R', c: 'L' };

export function firingNetlist(drive: Drive, values: Values, broken: readonly Broken[], chain_opens: boolean): string {
  const { supply_V, stage_loss_V, pulse_Hz, coil_ohm, clamp_V } = values;
  const low = stage_loss_V / 2;
  const high = supply_V - low;
  const period_ms = 1000 / pulse_Hz;
  const end_V = drive === 'pulses, then low' ? low : high;
  const pulsing_s = drive === 'never, then high' ? FIRST_ms / 1000 : STOP_ms / 1000;
  const started = drive === 'never, then high' ? `time < ${pulsing_s} ? ${low} : ${high}` : `v(p)`;
  // A pin that rests goes on where it was left; when the contacts open the pulses go on.
  const driven = chain_opens ? 'v(p)' : `time < ${pulsing_s} ? ${started} : ${end_V}`;
  const lines = PARTS.map(([name, from, to, sound], n) => {
    const failure = broken.find(({ part }) => part === name)?.failure;
    const element = (kind: string, what: string) => `${kind}${n} ${from} ${to} ${what}`;
    // The coil's own resistance stands below it; a shorted coil has lost both.
    if (failure !== undefined) return element('R', `${failure === 'open' ? OPEN_OHM : SHORT_OHM}`);
    if (name === 'STOP contact' && chain_opens) return `S${n} ${from} ${to} chain 0 CONTACT`;
    return element(KINDS[name[0]], sound(values));
  });
  return [
    '* charge pump of the torch trigger',
    `VP p 0 PULSE(${low} ${high} ${FIRST_ms}m 10u 10u ${period_ms / 2 - 0.01}m ${period_ms}m)`,
    `BD stage 0 V = ${driven}`,
    `VCHAIN chain 0 PWL(0 1 ${CHAIN_OPENS_ms}m 1 ${CHAIN_OPENS_ms + 0.001}m 0)`,
    ...lines,
    `RCOIL inner 0 ${broken.some(({ part, failure }) => part === 'coil' && failure === 'shorted') ? SHORT_OHM : coil_ohm}`,
    'RLEAK top 0 10meg',
    '.model SCHOTTKY D(IS=1e-8 N=1.05 RS=0.2 BV=100)',
    `.model ZENER D(IS=1e-14 BV=${clamp_V} RS=1)`,
    `.model CONTACT SW(VT=0.5 VH=0.1 RON=0.1 ROFF=${OPEN_OHM})`,
    '.end',
    '',
  ].join('\n');
}

export interface Question {
  readonly drive?: Drive;
  readonly values?: Partial<Values>;
  readonly broken?: readonly Broken[];
  /** The stop chain opens at CHAIN_OPENS_ms, and the pulses go on. */
  readonly chain_opens?: boolean;
}

/** Asks the circuit simulator. */
export function fire(command: string, question: Question = {}): Answer {
  const { drive = 'pulses, then low', broken = [], chain_opens = false } = question;
  const values = { ...VALUES, ...question.values };
  const netlist = firingNetlist(drive, values, broken, chain_opens);
  const names = ['held', 'mostv', 'peak', 'closing', 'sinking', 'opening', 'left'];
  const found = simulateCircuit(command, netlist, [
    `tran 20u ${END_ms}m 0 20u uic`,
    `let current=v(inner)*${1000 / values.coil_ohm}`,
    `meas tran held avg current from=110m to=${STOP_ms}m`,
    `meas tran mostv max v(out) from=110m to=${STOP_ms}m`,
    `meas tran peak max current from=0 to=${STOP_ms}m`,
    `meas tran closing when current=${CLOSES_MA} rise=1 to=${STOP_ms}m`,
    `meas tran sinking when current=${CLOSES_MA} fall=1 to=${STOP_ms}m`,
    `meas tran opening when current=${OPENS_MA} fall=last from=${STOP_ms}m`,
    `meas tran left find current at=${END_ms - 1}m`,
    ...names.map((name) => `print ${name}`),
  ]);
  const number = (name: string) => found.get(name)?.at(-1);
  const left_mA = number('left')!;
  const opening = number('opening');
  const closing = number('closing');
  const since_ms = (s: number | undefined, from_ms: number) => (s === undefined ? undefined : s * 1000 - from_ms);
  const held_mA = number('held')!;
  const never_closed = held_mA < OPENS_MA;
  return {
    held_mA,
    most_V: number('mostv')!,
    peak_mA: number('peak')!,
    first_held_ms: closing === undefined ? 0 : ((number('sinking') ?? STOP_ms / 1000) - closing) * 1000,
    closing_ms: since_ms(closing, FIRST_ms),
    opening_ms: never_closed ? 0 : left_mA > OPENS_MA ? Infinity : since_ms(opening, STOP_ms)!,
    left_mA,
  };
}
