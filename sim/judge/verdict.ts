import { FAULT_ROWS, REFUSAL_ROWS } from '../../firmware/wire/code-rows.js';
import {
  FAULT_STOP_CHAIN,
  REFUSAL_KEY,
  REFUSAL_NONE,
  REFUSAL_REQUEST_HELD,
  REFUSAL_STOP_CHAIN,
} from '../../firmware/wire/codes.gen.js';
import { INPUT_KEY, INPUT_REQUEST, INPUT_STOP_CHAIN, OUTPUT_PERMIT } from '../../firmware/wire/layout.gen.js';
import { TICKS_PER_S } from '../base/index.js';
import type { TraceBlock } from '../run/trace/index.js';
import type { RequirementResult } from './requirement.js';
import type { Stretches } from './stretches.js';
import type { FaultFigures, RunFigures } from './tally.js';

/** What a run came to, in one word; `broken` counts for more than `stopped`. */
export const VERDICT_WORDS = ['finished', 'stopped', 'broken'] as const;
export type VerdictWord = (typeof VERDICT_WORDS)[number];

/** Who or what ends a run before the end of its program. */
export const STOPPERS = ['box', 'operator', 'time', 'user'] as const;
export type Stopper = (typeof STOPPERS)[number];

/** Where a run stopped, by whom and why. */
export interface RunStop {
  /** `box`: it raised a fault or refused; `time`: far longer than the motion takes; `user`: whoever watched the run. */
  readonly by: Stopper;
  /** One word that can be counted: the name of a fault, of a line that the operator turned, of a refusal. */
  readonly cause: string;
  /** In words, without a full stop. */
  readonly why: string;
  /** From 0; -1: before the first. */
  readonly contour: number;
  /** Line of the program. */
  readonly line: number;
  /** From power-up, s. */
  readonly at_s: number;
}

/** A run in short: how far it came, and what it broke. */
export interface RunVerdict {
  readonly word: VerdictWord;
  /** Null when the program came to its end without a fault of the box. */
  readonly stop: RunStop | null;
  /** Names of the broken requirements. */
  readonly broken: readonly string[];
  /** How often the torch met the sheet outside the touch-off. */
  readonly contacts: number;
  /** Names of the quality goals that were missed. */
  readonly goals_missed: readonly string[];
  /** Names of the requirements that this run never put to the test: it says nothing about them. */
  readonly untested: readonly string[];
}

/** How the loop says that a run ended. */
export interface RunEnd {
  readonly ended: 'finished' | 'stopped' | 'limit' | 'interrupted';
  /** In words; empty when finished. */
  readonly reason: string;
  readonly line: number;
  readonly ticks: number;
}

/** Notes what withdrew the motion permit, and what the box refuses, for the case that no fault says it. */
export class Ending {
  private withdrawn_inputs = 0;
  private withdrawn_tick = -1;
  private request_tick = -1;
  private refusal = REFUSAL_NONE;
  private inputs = 0;
  private contour = -1;

  watch(block: TraceBlock, s: Stretches): void {
    for (let i = 1; i <= s.count; i++) {
      if ((s.digital_inputs[i] & INPUT_REQUEST) !== 0) this.request_tick = block.first_tick + s.from[i + 1];
      const permit = s.digital_outputs[i] & OUTPUT_PERMIT;
      if (permit === 0 && (s.digital_outputs[i - 1] & OUTPUT_PERMIT) !== 0) {
        this.withdrawn_inputs = s.digital_inputs[i];
        this.withdrawn_tick = block.first_tick + s.from[i];
      }
    }
    if (block.count === 0) return;
    const last = block.count - 1;
    this.refusal = block.refusal[last];
    this.inputs = block.digital_inputs[last];
    this.contour = block.contour[last];
  }

  /**
   * Who stopped a run and why; null when it finished. A fault of the box counts as a stop although the table ran on:
   * after it nothing was cut.
   */
  stop(end: RunEnd, faults: readonly FaultFigures[]): RunStop | null {
    const at = { contour: this.contour, line: end.line, at_s: end.ticks / TICKS_PER_S };
    const user = end.ended === 'interrupted' ? ({ by: 'user', cause: 'broken-off', why: end.reason } as const) : null;
    const fault = firstOfLast(faults);
    if (fault !== undefined) return faultStop(fault);
    if (user !== null) return { ...user, ...at };
    if (end.ended === 'finished') return null;
    if (end.ended === 'limit') return { by: 'time', cause: 'time-limit', why: end.reason, ...at };
    return { ...this.withoutFault(end), ...at };
  }

  private withoutFault({ reason, ticks }: RunEnd): Pick<RunStop, 'by' | 'cause' | 'why'> {
    // The table brakes within seconds of a permit that is withdrawn; an older one was the end of a contour.
    const withdrawn = this.withdrawn_tick >= 0 && ticks - this.withdrawn_tick < BRAKES_WITHIN_TICKS;
    // A table that waits in vain takes its request off in its last tick.
    const asked = ticks - this.request_tick < REQUEST_WITHIN_TICKS ? INPUT_REQUEST : 0;
    const line = lineTurned(withdrawn ? this.withdrawn_inputs : this.inputs | asked);
    if (line !== undefined) return { by: 'operator', ...line };
    const row = REFUSAL_ROWS[this.refusal];
    const by = BY_HAND.includes(this.refusal) ? 'operator' : 'box';
    if (this.refusal !== REFUSAL_NONE && row !== undefined) return { by, cause: row.name, why: row.meaning };
    return { by: 'box', cause: 'no-permit', why: reason };
  }
}

const BRAKES_WITHIN_TICKS = 5000;
const REQUEST_WITHIN_TICKS = 1000;
/** A refusal that somebody's hand or program makes, not the state of the box. */
const BY_HAND = [REFUSAL_KEY, REFUSAL_STOP_CHAIN, REFUSAL_REQUEST_HELD];

const LINES = [
  [INPUT_STOP_CHAIN, 'stop-chain', 'the stop chain was opened'],
  [INPUT_KEY, 'key', 'the key was turned off'],
  [INPUT_REQUEST, 'request', 'the torch request was withdrawn'],
] as const;

function lineTurned(inputs: number): { readonly cause: string; readonly why: string } | undefined {
  const found = LINES.find(([bit]) => (inputs & bit) === 0);
  return found && { cause: found[1], why: found[2] };
}

/** Of the contour in which the last fault arose the first one: what follows it is its consequence. */
function firstOfLast(faults: readonly FaultFigures[]): FaultFigures | undefined {
  const last = faults.at(-1);
  return last && faults.find(({ contour }) => contour === last.contour);
}

function faultStop({ code, name, contour, line, tick }: FaultFigures): RunStop {
  const why = FAULT_ROWS[code]?.meaning ?? 'unknown to this program';
  const by = code === FAULT_STOP_CHAIN ? 'operator' : 'box';
  return { by, cause: name, why, contour, line, at_s: tick / TICKS_PER_S };
}

/** The verdict of a run from what was judged. */
export function verdictOf(
  stop: RunStop | null,
  results: readonly RequirementResult[],
  { contacts }: Pick<RunFigures, 'contacts'>,
): RunVerdict {
  const names = (of: (result: RequirementResult) => boolean) => results.filter(of).map(({ name }) => name);
  const broken = names(({ kind, kept }) => kind === 'requirement' && !kept);
  const goals_missed = names(({ kind, kept }) => kind === 'goal' && !kept);
  const untested = names(({ kind, checked, kept }) => kind === 'requirement' && kept && checked === 0);
  const word = broken.length > 0 || contacts > 0 ? 'broken' : stop === null ? 'finished' : 'stopped';
  return { word, stop, broken, contacts, goals_missed, untested };
}
