import { inputCurrent_A, type MachineConfig } from '../world/plant/index.js';
import { dutyAt_percent } from './duty.js';
import { known, type Source } from './machine.js';

/** Conventional load voltage of plasma cutting: a straight line for each range of current. */
const LINES = [
  { up_to_A: 165, at_zero_V: 80, per_A: 0.4 },
  { up_to_A: 500, at_zero_V: 130, per_A: 0.1 },
] as const;

export const LOAD_VOLTAGE_SOURCE = known('memory', 'IEC 60974-1 clause 11.2, plasma cutting');
/** Highest no-load voltage that the standard allows a plasma cutting supply, V peak. */
export const MOST_NO_LOAD_V = 500;
const NO_LOAD_SOURCE = known('memory', 'IEC 60974-1, no-load voltage for plasma cutting');

/**
 * The voltage at which a cutting supply is rated, V: what to compute with when nothing was measured.
 * @param current_A above 0; beyond 500 A the line is drawn on
 */
export function conventionalLoad_V(current_A: number): number {
  const line = LINES.find(({ up_to_A }) => current_A <= up_to_A) ?? LINES[1];
  return line.at_zero_V + line.per_A * current_A;
}

/** Voltage of the rectified bus, V: the peak of the mains. It keeps charge when the supply is off. */
export const rectifiedBus_V = (mains_V: number): number => mains_V * Math.SQRT2;

type Plate = MachineConfig['supply'];
/** Figures of a supply that are assumed where nothing is known. */
type Assumed = Pick<Plate, 'efficiency' | 'power_factor'>;
type Plain = Omit<
  Plate,
  keyof Assumed | 'pilot_V' | 'mains_Hz' | 'restrikes' | 'contact_delay_ms' | 'raw_voltage_terminals'
>;
type Answered = Plain & {
  /** `measured`: found with a meter and the plug pulled, shown in no manual. */
  readonly raw_voltage_terminals: boolean | 'measured';
};
/** A matter that an answer can be known about. */
export type SupplyQuestion = keyof Answered;

/** What an owner or a buyer can tell from data plate and manual; null where it is not known. */
export type SupplyAnswers = { readonly [Name in keyof Answered]: Answered[Name] | null } & Assumed;

/** `suitable if`: on a condition that the owner can meet; `not known yet`: an answer that matters is missing. */
export type Suitability = 'suitable' | 'suitable if' | 'not suitable' | 'not known yet';

/** The judgement of one matter. */
interface SupplyFinding {
  readonly matter: string;
  readonly verdict: Suitability;
  /** Why; for `suitable if` on what condition, for `not known yet` what must hold. */
  readonly reason: string;
  /** Answers that are missing. */
  readonly asks?: readonly SupplyQuestion[];
  readonly source?: Source;
}

/** Whether a supply suits a table with this box, and why. */
export interface SupplyJudgement {
  readonly verdict: Suitability;
  readonly findings: readonly SupplyFinding[];
  /** Answers that are missing, the one that matters most first. */
  readonly missing: readonly SupplyQuestion[];
  /** Absent where current or mains are not known. */
  readonly input?: InputFigures;
}

interface InputFigures {
  readonly load_V: number;
  readonly cut_A: number;
  readonly input_A: number;
  readonly efficiency: number;
  readonly power_factor: number;
  readonly rectified_bus_V: number;
  /** Current left to the breaker's rating, A; null without one. */
  readonly margin_A: number | null;
}

/** Share of a breaker's rating up to which it is loaded for long. */
const LONG_LOAD = 0.8;
/** Below this duty cycle a table that cuts sheet after sheet stands still more than it cuts, %. */
const LOW_DUTY_PERCENT = 35;
/** Least no-load voltage from which an arc transfers at all; below it the number is a mistake, V. */
const LEAST_NO_LOAD_V = 100;

/**
 * Whether a supply can be put on a table with this box, with a reason for each matter. One matter that does not suit decides;
 * then one that is not known: nothing is called suitable on an answer that nobody gave.
 */
export function judgeSupply(answers: SupplyAnswers): SupplyJudgement {
  const input = inputOf(answers);
  // What can hurt or cannot be mended comes first: so are the missing answers asked for.
  const findings = [
    trigger(answers),
    start(answers),
    voltageTap(answers),
    noLoad(answers),
    current(answers),
    mains(answers, input),
    air(answers),
  ];
  const worst = WORST_FIRST.find((word) => findings.some(({ verdict }) => verdict === word)) ?? 'suitable';
  const missing = findings.flatMap(({ asks }) => asks ?? []);
  return { verdict: worst, findings, missing, ...(input && { input }) };
}

const WORST_FIRST: readonly Suitability[] = ['not suitable', 'not known yet', 'suitable if'];

const unknown = (matter: string, asks: readonly SupplyQuestion[], condition: string): SupplyFinding => ({
  matter,
  verdict: 'not known yet',
  reason: condition,
  asks,
});

/** Those of these answers that are not known. */
const notKnown = (answers: SupplyAnswers, names: readonly SupplyQuestion[]): SupplyQuestion[] =>
  names.filter((name) => answers[name] === null);

const PRACTICE = known('common practice', '');

function start({ high_frequency_start: found }: SupplyAnswers): SupplyFinding {
  const matter = 'start of the pilot arc';
  const hazard =
    'high frequency at several thousand volts destroys converters and isolators, fakes edges on step lines and crosses ' +
    'barriers that were sized for the arc alone';
  if (found === null) return unknown(matter, ['high_frequency_start'], `it starts by a moving electrode; ${hazard}`);
  if (!found)
    return {
      matter,
      verdict: 'suitable',
      reason: 'a moving electrode: no high frequency on the leads',
      source: PRACTICE,
    };
  const condition =
    'its maker sells it for tables with an isolated, divided voltage output; a divider of your own is not for it';
  return { matter, verdict: 'suitable if', reason: `${condition}: ${hazard}`, source: PRACTICE };
}

function trigger({ trigger_latching: found }: SupplyAnswers): SupplyFinding {
  const matter = 'trigger';
  if (found === null)
    return unknown(
      matter,
      ['trigger_latching'],
      'the arc ends when the trigger is released: look for a latch, and whether it can be switched off',
    );
  return found
    ? {
        matter,
        verdict: 'not suitable',
        reason: 'it latches: the arc goes on when the box lets go. Switch the latch off, if it can be, and ask again',
      }
    : { matter, verdict: 'suitable', reason: 'the arc ends when the trigger is released' };
}

function voltageTap({ raw_voltage_terminals: found }: SupplyAnswers): SupplyFinding {
  const matter = 'arc voltage';
  if (found === null)
    return unknown(
      matter,
      ['raw_voltage_terminals'],
      'its maker shows where the undivided arc voltage can be taken, or it can be found with a meter and the plug pulled',
    );
  if (found === 'measured') {
    const reason =
      'every pair was measured with the plug pulled and nothing contradicts (--pairs), the two protective resistors sit at ' +
      'the conductor itself, and the first reading under power is taken by whoever may open the supply. No manual says what ' +
      'else is on that conductor, or that it is the same in another unit';
    return { matter, verdict: 'suitable if', reason };
  }
  return found
    ? {
        matter,
        verdict: 'suitable',
        reason: 'its maker shows where to take it; fitting the tap is for whoever may open the supply',
      }
    : { matter, verdict: 'not suitable', reason: 'it cannot be taken: there is nothing to hold the torch by' };
}

function noLoad({ no_load_V: found }: SupplyAnswers): SupplyFinding {
  const matter = 'no-load voltage';
  if (found === null)
    return unknown(
      matter,
      ['no_load_V'],
      `it is ${MOST_NO_LOAD_V} V or less; size the divider for ${MOST_NO_LOAD_V} V until it is known`,
    );
  if (found > MOST_NO_LOAD_V) {
    const reason = `${found} V is above ${MOST_NO_LOAD_V} V, the most for plasma cutting, and above every distance that is known here`;
    return { matter, verdict: 'not suitable', reason, source: NO_LOAD_SOURCE };
  }
  if (found < LEAST_NO_LOAD_V)
    return unknown(matter, ['no_load_V'], `${found} V is meant: no pilot arc transfers from so little; look again`);
  return {
    matter,
    verdict: 'suitable',
    reason: `${found} V, up to ${MOST_NO_LOAD_V} V are in order`,
    source: NO_LOAD_SOURCE,
  };
}

function air({ air_interlock: found }: SupplyAnswers): SupplyFinding {
  const matter = 'air';
  if (found === true) return { matter, verdict: 'suitable', reason: 'it does not fire without air pressure' };
  const reason = 'a pressure switch is put into the stop chain';
  if (found === false) return { matter, verdict: 'suitable if', reason };
  return unknown(matter, ['air_interlock'], 'it does not fire without air pressure; else a pressure switch is needed');
}

function current(answers: SupplyAnswers): SupplyFinding {
  const { cut_A, rated_A, duty_percent } = answers;
  const matter = 'current and duty cycle';
  if (cut_A === null || rated_A === null || duty_percent === null) {
    const asks = notKnown(answers, ['rated_A', 'duty_percent', 'cut_A']);
    return unknown(matter, asks, 'the current that the sheet needs is within its rating');
  }
  if (cut_A > rated_A)
    return { matter, verdict: 'not suitable', reason: `${cut_A} A are more than the rated ${rated_A} A` };
  const allowed = dutyAt_percent(cut_A, rated_A, duty_percent);
  const source = known('memory', 'I²·X constant over ten minutes');
  const reason = `${whole(allowed)} % at ${cut_A} A: ${minutes(allowed)} of arc in any ten minutes`;
  if (allowed >= LOW_DUTY_PERCENT) return { matter, verdict: 'suitable', reason, source };
  return { matter, verdict: 'suitable if', reason: `the pauses do not matter; ${reason}`, source };
}

function inputOf(answers: SupplyAnswers): InputFigures | undefined {
  const { mains_V, phases, breaker_A, efficiency, power_factor } = answers;
  const cut_A = answers.cut_A ?? answers.rated_A;
  if (cut_A === null || mains_V === null || phases === null) return undefined;
  const load_V = conventionalLoad_V(cut_A);
  const input_A = inputCurrent_A(load_V, cut_A, { mains_V, phases, efficiency, power_factor });
  return {
    load_V,
    cut_A,
    input_A,
    efficiency,
    power_factor,
    rectified_bus_V: rectifiedBus_V(mains_V),
    margin_A: breaker_A === null ? null : breaker_A - input_A,
  };
}

function mains(answers: SupplyAnswers, input: InputFigures | undefined): SupplyFinding {
  const { breaker_A } = answers;
  const matter = 'mains circuit';
  const missing = notKnown(answers, ['mains_V', 'phases', 'breaker_A']);
  if (input === undefined) return unknown(matter, missing, 'the breaker carries the input current');
  const { input_A, load_V, cut_A } = input;
  const asks = `it asks for about ${input_A.toFixed(1)} A while ${cut_A} A cut at ${load_V.toFixed(0)} V`;
  if (breaker_A === null) return unknown(matter, missing, `the breaker carries the input current: ${asks}`);
  const source = LOAD_VOLTAGE_SOURCE;
  if (input_A > breaker_A)
    return { matter, verdict: 'not suitable', reason: `${asks}: more than the breaker's ${breaker_A} A`, source };
  if (input_A > LONG_LOAD * breaker_A) {
    return {
      matter,
      verdict: 'suitable if',
      reason: `cuts are short: ${asks}, more than ${100 * LONG_LOAD} % of the breaker's ${breaker_A} A`,
      source,
    };
  }
  return { matter, verdict: 'suitable', reason: `${asks}; the breaker carries ${breaker_A} A`, source };
}

const whole = (value: number) => value.toFixed(0);
const minutes = (percent: number) => `${(percent / 10).toFixed(1)} min`;
