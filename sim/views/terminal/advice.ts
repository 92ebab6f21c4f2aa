import { FAULT_ROWS } from '../../../firmware/wire/code-rows.js';
import type { ContourFigures, FaultFigures } from '../../judge/index.js';
import { asSentence, clockText, counted, fixed } from '../text/index.js';
import {
  type Advice,
  type Cure,
  cure,
  defaultOf,
  lower,
  missed,
  missText,
  number,
  type RunSummary,
  raise,
  turnOn,
} from './run-summary.js';

/** Reversals a second from which Z is called restless: the figure set for a flat sheet. */
const CHATTER_PER_S = 10;
/** Share of the following time at a limit from which the limit shapes the cut. */
const LIMITED_SHARE = 0.05;
/** Mean standoff error from which the target is worth correcting; a fifth of the tolerance. */
const BIAS_MM = 0.04;

const bias = (run: RunSummary): number => run.figures.standoff_error_mean_mm ?? 0;
const biased = (run: RunSummary): boolean => Math.abs(bias(run)) > BIAS_MM;
const restless = (run: RunSummary): boolean => (run.figures.reversals_per_s ?? 0) > CHATTER_PER_S;
const tooSlow = (run: RunSummary): boolean => (run.figures.velocity_limited_share ?? 0) > LIMITED_SHARE;
/** A dive moves the mean and takes Z to its limit too: it is to be cured before anything is read from these. */
const dived = (run: RunSummary): boolean => missed(run, 'corner-dive') || missed(run, 'kerf-crossing-dive');

/** The torch went down at corners, where the feed falls and the arc voltage rises without need. */
function cornerAdvice(run: RunSummary): Advice[] {
  if (!missed(run, 'corner-dive')) return [];
  const dive = missText(run, 'corner-dive', run.figures.corner_dive_mm);
  return [{ what: `The torch dived at a corner: ${dive}.`, ...cornerCure(run) }];
}

/** A dive is a regulator that believes the voltage; so first what should have kept it from believing. */
function cornerCure({ parameters: p }: RunSummary): Cure {
  if (p.corner_fraction === 0) return turnOn('corner_fraction');
  if (p.feed_effect_V === 0) return turnOn('feed_effect_V');
  if (p.corner_fraction < defaultOf('corner_fraction')) return raise('corner_fraction', 'the hold begins too late');
  if (p.corner_path_mm < defaultOf('corner_path_mm')) return raise('corner_path_mm', 'the hold ends too early');
  if (p.feed_effect_learned === 0)
    return cure(
      'Set feed_effect_learned to 1, so that the box learns how the voltage rises at corners.',
      'feed_effect_learned',
    );
  return cure(
    'Measure how far the voltage rises when the feed falls at constant standoff, and set feed_effect_V to it.',
    'feed_effect_V',
  );
}

/** The torch went down at a kerf crossing, where the arc is long because metal is gone. */
function crossingAdvice(run: RunSummary): Advice[] {
  if (!missed(run, 'kerf-crossing-dive')) return [];
  const dive = missText(run, 'kerf-crossing-dive', run.figures.kerf_crossing_dive_mm);
  return [{ what: `The torch dived at a kerf crossing: ${dive}.`, ...crossingCure(run) }];
}

/** What lets the regulator believe the voltage over a kerf. */
function crossingCure({ parameters: p }: RunSummary): Cure {
  if (p.crossing_rise_mm_per_s === 0) return turnOn('crossing_rise_mm_per_s');
  if (p.crossing_rise_mm_per_s > defaultOf('crossing_rise_mm_per_s'))
    return lower('crossing_rise_mm_per_s', 'the crossing is noticed too late');
  if (p.crossing_band_mm === 0) return turnOn('crossing_band_mm');
  if (p.hold_carried === 0)
    return cure('Set hold_carried to 1, so that Z goes on along the slope of the sheet.', 'hold_carried');
  return cure('Lower follow_down_mm_s: it bounds how far the torch drops before the hold.', 'follow_down_mm_s');
}

/** The torch hit the sheet: the deepest dive names the cause. */
function contactAdvice(run: RunSummary): Advice[] {
  const { contacts, corner_dive_mm, kerf_crossing_dive_mm, lost_steps } = run.figures;
  if (contacts === 0) return [];
  const met = `The torch hit the sheet: ${counted(contacts, 'contact')}`;
  const what = `${met}.`;
  if (run.requirements.some((requirement) => requirement.name === 'no-contact' && requirement.kept)) {
    const act = 'Home and park the torch higher before the program starts, or lay the sheet more level.';
    return [{ what: `${met}, while the box did not own Z.`, ...cure(act) }];
  }
  const corner = corner_dive_mm ?? 0;
  const crossing = kerf_crossing_dive_mm ?? 0;
  // Most of the cut height was used up by one of the two: then that is what to cure first.
  const most = 0.8 * run.parameters.cut_height_mm;
  if (Math.max(corner, crossing) >= most)
    return [{ what, ...(corner >= crossing ? cornerCure(run) : crossingCure(run)) }];
  const act =
    lost_steps > 0
      ? cure('Look at the lost steps of Z below: the box no longer knew its height.', 'z_acceleration_mm_s2')
      : cure(
          'Lower floor_allowance_mm, and look for a tipped-up part or a sheet steeper than slope_limit.',
          'floor_allowance_mm',
        );
  return [{ what, ...act }];
}

/** The standoff wanders, and neither a bias, nor a speed limit, nor chatter explains it. */
function followingAdvice(run: RunSummary): Advice[] {
  const { figures, parameters: p } = run;
  if (!missed(run, 'following-rms') && !missed(run, 'following-p999')) return [];
  const rms = fixed(figures.standoff_error_rms_mm ?? Number.NaN, 3);
  const most = fixed(figures.standoff_error_p999_mm ?? Number.NaN, 2);
  const what = `The standoff wanders: ${rms} mm rms, within ${most} mm for 99.9 % of the time${worstContour(run)}.`;
  const gain = defaultOf('gain_p_per_s');
  if (p.gain_p_per_s < 0.8 * gain) return [{ what, ...raise('gain_p_per_s', 'the torch lags behind the sheet') }];
  if (p.gain_p_per_s > 1.5 * gain) return [{ what, ...lower('gain_p_per_s', 'the loop rings') }];
  if (biased(run) || tooSlow(run) || restless(run)) return [];
  const act = 'Measure the arc voltage at two standoffs and set arc_slope_V_per_mm; the gains are divided by it.';
  return [{ what, ...cure(act, 'arc_slope_V_per_mm') }];
}

/** `, worst 0.47 mm in the contour of line 34`: where to look first. */
function worstContour({ figures }: RunSummary): string {
  const size = (contour: ContourFigures) => contour.standoff_error_worst_mm ?? 0;
  const [worst] = [...figures.contours].sort((a, b) => size(b) - size(a));
  return worst === undefined ? '' : `, worst ${fixed(size(worst), 2)} mm in the contour of line ${worst.line}`;
}

/** The torch rides too high or too low all the time: a matter of the target, not of the loop. */
function biasAdvice(run: RunSummary): Advice[] {
  if (!biased(run) || dived(run)) return [];
  const { parameters: p } = run;
  const off_mm = bias(run);
  const what = `The torch rides ${fixed(Math.abs(off_mm), 2)} mm too ${off_mm > 0 ? 'high' : 'low'} on average.`;
  if (p.target_learned === 1) {
    const act = `The target is learned at the touched height: change touch_offset_mm by ${signed(off_mm, 2)} mm.`;
    return [{ what, ...cure(act, 'touch_offset_mm') }];
  }
  const change_V = -off_mm * p.arc_slope_V_per_mm;
  const act = `Set target_V to ${number(p.target_V + change_V)} V, ${signed(change_V, 1)} V.`;
  return [{ what, ...cure(act, 'target_V') }];
}

function signed(value: number, decimals: number): string {
  return `${value > 0 ? '+' : ''}${fixed(value, decimals)}`;
}

/** Z could not go as fast as the regulator asked. */
function speedAdvice(run: RunSummary): Advice[] {
  if (!tooSlow(run) || dived(run)) return [];
  const share = fixed(100 * (run.figures.velocity_limited_share ?? 0), 1);
  const what = `Z was at its speed limit for ${share} % of the following time.`;
  const act = 'Raise follow_down_mm_s, or use a lower feed over a sheet this steep.';
  return [{ what, ...cure(act, 'follow_down_mm_s') }];
}

/** Z reverses again and again: wear, and noise carried into the cut. */
function chatterAdvice(run: RunSummary): Advice[] {
  const { figures, parameters: p } = run;
  if (!restless(run)) return [];
  const what = `Z reverses ${fixed(figures.reversals_per_s ?? 0, 1)} times a second.`;
  if (p.reversal_um < defaultOf('reversal_um'))
    return [{ what, ...raise('reversal_um', 'every trace of noise turns Z round') }];
  if (p.gain_p_per_s > defaultOf('gain_p_per_s')) return [{ what, ...lower('gain_p_per_s', 'it amplifies the noise') }];
  const act = 'Look for the source of the noise first, then raise smoothing_ms or reversal_um.';
  return [{ what, ...cure(act, 'smoothing_ms') }];
}

/** The motor did not follow: from then on the box is wrong about where Z is. */
function lostStepsAdvice(run: RunSummary): Advice[] {
  const { lost_steps } = run.figures;
  if (lost_steps === 0) return [];
  const act = 'Lower z_acceleration_mm_s2 or z_velocity_mm_s until the motor follows.';
  return [{ what: `Z lost ${counted(lost_steps, 'step')}.`, ...cure(act, 'z_acceleration_mm_s2') }];
}

/** In the order in which someone would want to hear of them. */
const TOPICS: readonly ((run: RunSummary) => readonly Advice[])[] = [
  outcomeAdvice,
  faultsAdvice,
  contactAdvice,
  requirementAdvice,
  truthAdvice,
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
  'no-response': 'pierce_height_mm',
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

/** What is true was otherwise than the box believed, and it does not notice yet. */
function truthAdvice({ requirements }: RunSummary): Advice[] {
  const unseen = requirements.filter(({ kind, number, kept }) => kind === 'goal' && number > 0 && !kept);
  if (unseen.length === 0) return [];
  const what = `The box did not see what was true: ${unseen.map(({ name }) => name).join(', ')}.`;
  const act =
    'No parameter makes it see this yet: measure the arc, compare target_V with it, look at the sensing ' +
    'lead and the work clamp, and keep a hand on the stop button.';
  return [{ what, ...cure(act) }];
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
