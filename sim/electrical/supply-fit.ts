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
type Answered = Omit<Plate, keyof Assumed | 'pilot_V' | 'mains_Hz' | 'restrikes' | 'contact_delay_ms'>;

/** What an owner or a buyer can tell from data plate and manual; null where it is not known. */
export type SupplyAnswers = { readonly [Name in keyof Answered]: Answered[Name] | null } & Assumed;

type Fit = 'fit' | 'fit if' | 'not fit';

/** The judgement of one matter. */
interface SupplyFinding {
  readonly matter: string;
  readonly fit: Fit;
  /** Why, and for `fit if` on what condition. */
  readonly reason: string;
  readonly source?: Source;
}

/** Whether a supply is fit, and why. */
export interface SupplyFit {
  readonly fit: Fit;
  readonly findings: readonly SupplyFinding[];
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

/** Whether a supply can be put on a table with this box, with a reason for each matter. */
export function judgeSupply(answers: SupplyAnswers): SupplyFit {
  const input = inputOf(answers);
  const findings = [
    start(answers),
    trigger(answers),
    voltageTap(answers),
    noLoad(answers),
    air(answers),
    ...current(answers),
    ...(input
      ? [mains(answers, input)]
      : [unknown('mains circuit', 'the input current stays below the breaker: give mains, phases and breaker')]),
  ];
  const worst = findings.some(({ fit }) => fit === 'not fit')
    ? 'not fit'
    : findings.some(({ fit }) => fit === 'fit if')
      ? 'fit if'
      : 'fit';
  return { fit: worst, findings, ...(input && { input }) };
}

const unknown = (matter: string, condition: string): SupplyFinding => ({ matter, fit: 'fit if', reason: condition });

const PRACTICE = known('common practice', '');

function start({ high_frequency_start: found }: SupplyAnswers): SupplyFinding {
  const matter = 'start of the pilot arc';
  const hazard =
    'high frequency at several thousand volts destroys converters and isolators, fakes edges on step lines and crosses ' +
    'barriers that were sized for the arc alone';
  if (found === null) return unknown(matter, `it starts by a moving electrode; ${hazard}`);
  if (!found)
    return { matter, fit: 'fit', reason: 'a moving electrode: no high frequency on the leads', source: PRACTICE };
  const condition =
    'its maker sells it for tables with an isolated, divided voltage output; a divider of your own is not for it';
  return { matter, fit: 'fit if', reason: `${condition}: ${hazard}`, source: PRACTICE };
}

function trigger({ trigger_latching: found }: SupplyAnswers): SupplyFinding {
  const matter = 'trigger';
  if (found === null)
    return unknown(
      matter,
      'the arc ends when the trigger is released: look for a latch, and whether it can be switched off',
    );
  return found
    ? {
        matter,
        fit: 'not fit',
        reason: 'it latches: the arc goes on when the box lets go. Switch the latch off, if it can be, and ask again',
      }
    : { matter, fit: 'fit', reason: 'the arc ends when the trigger is released' };
}

function voltageTap({ raw_voltage_terminals: found }: SupplyAnswers): SupplyFinding {
  const matter = 'arc voltage';
  if (found === null)
    return unknown(
      matter,
      'its maker shows where the undivided arc voltage can be taken; whoever fits the tap must be allowed to open it',
    );
  return found
    ? {
        matter,
        fit: 'fit',
        reason: 'its maker shows where to take it; fitting the tap is for whoever may open the supply',
      }
    : { matter, fit: 'not fit', reason: 'it cannot be taken: there is nothing to hold the torch by' };
}

function noLoad({ no_load_V: found }: SupplyAnswers): SupplyFinding {
  const matter = 'no-load voltage';
  if (found === null)
    return unknown(
      matter,
      `it is ${MOST_NO_LOAD_V} V or less; size the divider for ${MOST_NO_LOAD_V} V until it is known`,
    );
  if (found > MOST_NO_LOAD_V) {
    const reason = `${found} V is above ${MOST_NO_LOAD_V} V, the most for plasma cutting, and above every distance that is known here`;
    return { matter, fit: 'not fit', reason, source: NO_LOAD_SOURCE };
  }
  if (found < LEAST_NO_LOAD_V)
    return unknown(matter, `${found} V is meant: no pilot arc transfers from so little; look again`);
  return { matter, fit: 'fit', reason: `${found} V, up to ${MOST_NO_LOAD_V} V are in order`, source: NO_LOAD_SOURCE };
}

function air({ air_interlock: found }: SupplyAnswers): SupplyFinding {
  const matter = 'air';
  if (found === true) return { matter, fit: 'fit', reason: 'it does not fire without air pressure' };
  return unknown(matter, 'a pressure switch is put into the stop chain, unless the supply watches its air itself');
}

function current({ cut_A, rated_A, duty_percent }: SupplyAnswers): SupplyFinding[] {
  const matter = 'current and duty cycle';
  if (cut_A === null || rated_A === null || duty_percent === null) {
    return [
      unknown(
        matter,
        'the current that the sheet needs is within its rating: give rated and set current and duty cycle',
      ),
    ];
  }
  if (cut_A > rated_A) return [{ matter, fit: 'not fit', reason: `${cut_A} A are more than the rated ${rated_A} A` }];
  const allowed = dutyAt_percent(cut_A, rated_A, duty_percent);
  const source = known('memory', 'I²·X constant over ten minutes');
  const reason = `${whole(allowed)} % at ${cut_A} A: ${minutes(allowed)} of arc in any ten minutes`;
  if (allowed >= LOW_DUTY_PERCENT) return [{ matter, fit: 'fit', reason, source }];
  return [{ matter, fit: 'fit if', reason: `the pauses do not matter; ${reason}`, source }];
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

function mains({ breaker_A }: SupplyAnswers, { input_A, load_V, cut_A }: InputFigures): SupplyFinding {
  const matter = 'mains circuit';
  const asks = `it asks for about ${input_A.toFixed(1)} A while ${cut_A} A cut at ${load_V.toFixed(0)} V`;
  const source = LOAD_VOLTAGE_SOURCE;
  if (breaker_A === null) return { matter, fit: 'fit if', reason: `the breaker carries it: ${asks}`, source };
  if (input_A > breaker_A)
    return { matter, fit: 'not fit', reason: `${asks}: more than the breaker's ${breaker_A} A`, source };
  if (input_A > LONG_LOAD * breaker_A) {
    return {
      matter,
      fit: 'fit if',
      reason: `cuts are short: ${asks}, more than ${100 * LONG_LOAD} % of the breaker's ${breaker_A} A`,
      source,
    };
  }
  return { matter, fit: 'fit', reason: `${asks}; the breaker carries ${breaker_A} A`, source };
}

const whole = (value: number) => value.toFixed(0);
const minutes = (percent: number) => `${(percent / 10).toFixed(1)} min`;
