import { FAULT_ROWS } from '../../../firmware/wire/code-rows.js';
import {
  FAULT_ARC_LONG,
  FAULT_ARC_LOST,
  FAULT_CROSSING_LONG,
  FAULT_NO_ARC,
  FAULT_READING_SATURATED,
  FAULT_READING_STUCK,
  FAULT_STANDSTILL,
  FAULT_TOUCH_MISSING,
  FAULT_TRAVEL,
  FAULT_WRONG_WAY,
} from '../../../firmware/wire/codes.gen.js';
import type { FaultFigures } from '../../judge/index.js';
import { clockText, counted, fixed } from '../text/index.js';
import {
  biasRule,
  chatterRule,
  contactRule,
  cornerRule,
  crossingCause,
  crossingRule,
  followingRule,
  lostStepsRule,
  speedRule,
} from './advice-standoff.js';
import { type Advice, missed, nowText, type RunSummary } from './run-summary.js';

/** Parameters that govern a fault. Where none is named, no setting helps: something is to be repaired. */
const FAULT_PARAMETERS: Readonly<Record<number, string>> = {
  [FAULT_TOUCH_MISSING]: 'seek_travel_mm',
  [FAULT_NO_ARC]: 'pierce_height_mm',
  [FAULT_ARC_LOST]: 'target_V',
  [FAULT_READING_STUCK]: 'stuck_ms',
  [FAULT_READING_SATURATED]: 'reading_gain_mV',
  [FAULT_CROSSING_LONG]: 'crossing_path_mm',
  [FAULT_ARC_LONG]: 'arc_longest_s',
  [FAULT_STANDSTILL]: 'standstill_s',
  [FAULT_TRAVEL]: 'travel_mm',
  [FAULT_WRONG_WAY]: 'arc_slope_V_per_mm',
};

/** Each kind of fault once, with how often and where it came first. */
function faultRule(run: RunSummary): Advice[] {
  const kinds = new Map<number, FaultFigures[]>();
  for (const fault of run.figures.faults) kinds.set(fault.code, [...(kinds.get(fault.code) ?? []), fault]);
  return [...kinds.values()].map((faults) => faultAdvice(run, faults));
}

function faultAdvice(run: RunSummary, faults: readonly FaultFigures[]): Advice {
  const first = faults[0];
  const row = FAULT_ROWS[first.code];
  const times = faults.length === 1 ? '' : `${faults.length} times, first `;
  const at = `${times}in line ${first.line} at ${clockText(first.tick / 1000)}, ${fixed(first.measured_V, 1)} V`;
  const what = `Fault ${first.name}, ${at}: ${row?.meaning ?? 'unknown to this program'}`;
  if (first.code === FAULT_ARC_LOST && crossedBefore(run, first))
    return {
      what,
      parameter: 'arc_off_ms',
      do: `the contour crosses a kerf: raise it above the time a crossing takes (${nowText(run, 'arc_off_ms')}), and arc_high_V above target plus crossing (${nowText(run, 'arc_high_V')})`,
    };
  // Over a kerf the voltage is high and stays high however far the torch comes down.
  if (first.code === FAULT_WRONG_WAY && missed(run, 'kerf-crossing-dive')) return { what, ...crossingCause(run) };
  const parameter = FAULT_PARAMETERS[first.code] ?? '';
  const setting = parameter === '' ? '' : ` (${nowText(run, parameter)})`;
  return { what, parameter, do: `check: ${row?.remedy ?? 'the recorded run'}${setting}` };
}

/** The contour of the fault had held for a kerf crossing. */
function crossedBefore(run: RunSummary, fault: FaultFigures): boolean {
  const contour = run.figures.contours.find((candidate) => candidate.contour === fault.contour);
  return contour?.holds.some((hold) => hold.cause === 'crossing' && hold.count > 0) ?? false;
}

/** The program did not come to its end, and no fault says why. */
function outcomeRule(run: RunSummary): Advice[] {
  const { outcome, figures } = run;
  if (outcome.ended === 'finished' || outcome.ended === 'interrupted' || figures.faults.length > 0) return [];
  const what = `The program ended in line ${outcome.line}: ${outcome.reason}`;
  if (outcome.ended === 'limit')
    return [{ what, parameter: '', do: 'look in the recorded run for what it was waiting for' }];
  if (figures.arc_on_s > 0 && figures.following_s === 0)
    return [
      {
        what: `${what}; an arc burned, but the motion permit was never given`,
        parameter: 'arc_low_V',
        do: `the arc must stay between arc_low_V (${nowText(run, 'arc_low_V')}) and arc_high_V (${nowText(run, 'arc_high_V')}) for arc_on_ms (${nowText(run, 'arc_on_ms')})`,
      },
    ];
  if (figures.arc_on_s === 0)
    return [
      {
        what: `${what}; no arc ever burned`,
        parameter: '',
        do: 'look at the arm key, the stop chain, and whether Z has been homed',
      },
    ];
  return [{ what, parameter: '', do: 'look at who took the motion permit or the torch request away' }];
}

/** The firing contact opens late: the arc burns on although the trigger is off. */
function relayRule(run: RunSummary): Advice[] {
  if (!missed(run, 'relay-release')) return [];
  return [
    {
      what: `The firing contact took ${fixed(run.figures.relay_release_ms ?? Number.NaN, 0)} ms to open`,
      parameter: '',
      do: 'look for a diode across its coil that slows it, or a contact that sticks',
    },
  ];
}

/** A requirement of the box was broken: that is never a matter of taste or of tuning alone. */
function requirementRule(run: RunSummary): Advice[] {
  const broken = run.requirements.filter(
    (requirement) => requirement.kind === 'requirement' && !requirement.kept && requirement.name !== 'no-contact',
  );
  if (broken.length === 0) return [];
  const names = broken.map((requirement) => requirement.name).join(', ');
  return [
    {
      what: `${counted(broken.length, 'requirement')} broken: ${names}`,
      parameter: '',
      do: 'do not run this box with an arc; keep the setup, the program and the seed, they repeat the run exactly',
    },
  ];
}

export type { Advice } from './run-summary.js';

/** In the order in which someone would want to hear of them. */
const RULES: readonly ((run: RunSummary) => readonly Advice[])[] = [
  outcomeRule,
  faultRule,
  contactRule,
  requirementRule,
  cornerRule,
  crossingRule,
  followingRule,
  biasRule,
  speedRule,
  chatterRule,
  lostStepsRule,
  relayRule,
];

/** One piece of advice for each thing that went wrong; none when nothing did. */
export function adviceFor(run: RunSummary): Advice[] {
  return RULES.flatMap((rule) => rule(run));
}
