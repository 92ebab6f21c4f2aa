import { FAULT_ROWS } from '../../../firmware/wire/code-rows.js';
import type { FaultFigures } from '../../judge/index.js';
import { asSentence, clockText, counted, fixed } from '../text/index.js';
import {
  biasAdvice,
  chatterAdvice,
  contactAdvice,
  cornerAdvice,
  crossingAdvice,
  crossingCure,
  followingAdvice,
  lostStepsAdvice,
  speedAdvice,
} from './advice-standoff.js';
import { type Advice, cure, missed, type RunSummary } from './run-summary.js';

/** In the order in which someone would want to hear of them. */
const TOPICS: readonly ((run: RunSummary) => readonly Advice[])[] = [
  outcomeAdvice,
  faultsAdvice,
  contactAdvice,
  requirementAdvice,
  cornerAdvice,
  crossingAdvice,
  followingAdvice,
  biasAdvice,
  speedAdvice,
  chatterAdvice,
  lostStepsAdvice,
  relayAdvice,
];

/** One piece of advice for each thing that went wrong; none when nothing did. */
export function adviceFor(run: RunSummary): Advice[] {
  return TOPICS.flatMap((topic) => topic(run));
}

/** Parameters that govern a fault. Where none is named, no setting helps: something is to be repaired. */
const FAULT_PARAMETERS: Readonly<Record<string, string>> = {
  'touch-missing': 'seek_travel_mm',
  'no-arc': 'pierce_height_mm',
  'arc-lost': 'target_V',
  'reading-stuck': 'stuck_ms',
  'reading-saturated': 'reading_gain_mV',
  'crossing-long': 'crossing_path_mm',
  'arc-long': 'arc_longest_s',
  standstill: 'standstill_s',
  travel: 'travel_mm',
  'wrong-way': 'arc_slope_V_per_mm',
};

/** Each kind of fault once, with how often and where it came first. */
function faultsAdvice(run: RunSummary): Advice[] {
  const kinds = new Set(run.figures.faults.map(({ code }) => code));
  return [...kinds].map((kind) =>
    faultAdvice(
      run,
      run.figures.faults.filter(({ code }) => code === kind),
    ),
  );
}

function faultAdvice(run: RunSummary, faults: readonly FaultFigures[]): Advice {
  const first = faults[0];
  const row = FAULT_ROWS[first.code];
  const times = faults.length === 1 ? '' : `${faults.length} times, first `;
  const at = `${times}in line ${first.line} at ${clockText(first.tick / 1000)}, ${fixed(first.measured_V, 1)} V`;
  const what = `Fault ${first.name}, ${at}: ${row?.meaning ?? 'unknown to this program'}.`;
  if (first.name === 'arc-lost' && crossedBefore(run, first)) {
    const act =
      'The contour crosses a kerf: raise arc_off_ms above the time that a crossing takes, and arc_high_V above the ' +
      'target plus what a crossing adds.';
    return { what, ...cure(act, 'arc_off_ms') };
  }
  // Over a kerf the voltage is high and stays high however far the torch comes down.
  if (first.name === 'wrong-way' && missed(run, 'kerf-crossing-dive')) return { what, ...crossingCure(run) };
  return { what, ...cure(asSentence(row?.remedy ?? 'look at the recorded run'), FAULT_PARAMETERS[first.name]) };
}

/** The contour of the fault had held for a kerf crossing. */
function crossedBefore(run: RunSummary, fault: FaultFigures): boolean {
  const contour = run.figures.contours.find((candidate) => candidate.contour === fault.contour);
  return contour?.holds.some((hold) => hold.cause === 'crossing' && hold.count > 0) ?? false;
}

/** The program did not come to its end, and no fault says why. */
function outcomeAdvice({ outcome, figures }: RunSummary): Advice[] {
  if (outcome.ended === 'finished' || outcome.ended === 'interrupted' || figures.faults.length > 0) return [];
  const what = `The program ended in line ${outcome.line}: ${outcome.reason}`;
  if (outcome.ended === 'limit')
    return [{ what: `${what}.`, ...cure('Look in the recorded run for what it was waiting for.') }];
  if (figures.arc_on_s > 0 && figures.following_s === 0) {
    const act = 'Set arc_low_V and arc_high_V so that the arc stays between them for arc_on_ms.';
    return [{ what: `${what}; an arc burned, but the motion permit was never given.`, ...cure(act, 'arc_low_V') }];
  }
  if (figures.arc_on_s === 0) {
    const act = 'Look at the arm key and the stop chain, and whether Z has been homed.';
    return [{ what: `${what}; no arc ever burned.`, ...cure(act) }];
  }
  return [{ what: `${what}.`, ...cure('Find out what withdrew the motion permit or the torch request.') }];
}

/** The firing contact opens late: the arc burns on although the trigger is off. */
function relayAdvice(run: RunSummary): Advice[] {
  if (!missed(run, 'relay-release')) return [];
  const what = `The firing contact took ${fixed(run.figures.relay_release_ms ?? Number.NaN, 0)} ms to open.`;
  return [{ what, ...cure('Look for a diode across its coil that slows it, or a contact that sticks.') }];
}

/** A requirement of the box was broken: that is never a matter of taste or of tuning alone. */
function requirementAdvice({ requirements }: RunSummary): Advice[] {
  const broken = requirements.filter(
    ({ kind, kept, name }) => kind === 'requirement' && !kept && name !== 'no-contact',
  );
  if (broken.length === 0) return [];
  const what = `${counted(broken.length, 'requirement')} broken: ${broken.map(({ name }) => name).join(', ')}.`;
  const act = 'Do not run this box with an arc. Keep the setup, the program and the seed: they repeat the run exactly.';
  return [{ what, ...cure(act) }];
}
