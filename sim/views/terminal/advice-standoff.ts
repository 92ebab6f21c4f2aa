import type { ContourFigures } from '../../judge/index.js';
import { counted, fixed } from '../text/index.js';
import {
  type Advice,
  defaultOf,
  lowerTo,
  missed,
  missText,
  nowText,
  number,
  type RunSummary,
  raiseTo,
} from './run-summary.js';

const on = (name: string): string => `it is off: set it to ${number(defaultOf(name))}`;

/** The torch went down at corners, where the feed falls and the arc voltage rises without need. */
export function cornerRule(run: RunSummary): Advice[] {
  if (!missed(run, 'corner-dive')) return [];
  const what = `The torch dived at a corner: ${missText(run, 'corner-dive', run.figures.corner_dive_mm)}`;
  return [{ what, ...cornerCause(run) }];
}

/** A dive is a regulator that believes the voltage; so first what should have kept it from believing. */
function cornerCause(run: RunSummary): Omit<Advice, 'what'> {
  const p = run.parameters;
  if (p.corner_fraction === 0) return { parameter: 'corner_fraction', do: on('corner_fraction') };
  if (p.feed_effect_V === 0) return { parameter: 'feed_effect_V', do: on('feed_effect_V') };
  if (p.corner_fraction < defaultOf('corner_fraction'))
    return { parameter: 'corner_fraction', do: `${raiseTo(run, 'corner_fraction')}: the hold begins too late` };
  if (p.corner_path_mm < defaultOf('corner_path_mm'))
    return { parameter: 'corner_path_mm', do: `${raiseTo(run, 'corner_path_mm')}: the hold ends too early` };
  if (p.feed_effect_learned === 0)
    return {
      parameter: 'feed_effect_learned',
      do: 'set it to 1, so that the rise of voltage at corners is learned instead of taken on trust',
    };
  return {
    parameter: 'feed_effect_V',
    do: `measure the rise of voltage when the feed falls at constant standoff, and set it (${nowText(run, 'feed_effect_V')})`,
  };
}

/** The torch went down at a kerf crossing, where the arc is long because metal is gone. */
export function crossingRule(run: RunSummary): Advice[] {
  if (!missed(run, 'kerf-crossing-dive')) return [];
  const dive = missText(run, 'kerf-crossing-dive', run.figures.kerf_crossing_dive_mm);
  return [{ what: `The torch dived at a kerf crossing: ${dive}`, ...crossingCause(run) }];
}

/** What lets the regulator believe the voltage over a kerf. */
export function crossingCause(run: RunSummary): Omit<Advice, 'what'> {
  const p = run.parameters;
  if (p.crossing_rise_mm_per_s === 0) return { parameter: 'crossing_rise_mm_per_s', do: on('crossing_rise_mm_per_s') };
  if (p.crossing_rise_mm_per_s > defaultOf('crossing_rise_mm_per_s'))
    return {
      parameter: 'crossing_rise_mm_per_s',
      do: `${lowerTo(run, 'crossing_rise_mm_per_s')}: the crossing is noticed too late`,
    };
  if (p.crossing_band_mm === 0) return { parameter: 'crossing_band_mm', do: on('crossing_band_mm') };
  if (p.hold_carried === 0)
    return { parameter: 'hold_carried', do: 'set it to 1, so that Z goes on along the slope of the sheet' };
  return {
    parameter: 'follow_down_mm_s',
    do: `lower it (${nowText(run, 'follow_down_mm_s')}): it bounds how far the torch comes down before the hold`,
  };
}

/** The torch met the sheet: the deepest dive names the cause. */
export function contactRule(run: RunSummary): Advice[] {
  const { contacts, corner_dive_mm, kerf_crossing_dive_mm, lost_steps } = run.figures;
  if (contacts === 0) return [];
  const what = `The torch met the sheet: ${counted(contacts, 'contact')}`;
  if (run.requirements.some((requirement) => requirement.name === 'no-contact' && requirement.kept)) {
    return [
      {
        what: `${what}, while the box did not hold Z`,
        parameter: '',
        do: 'home and park the torch higher before the program starts, or lay the sheet more level',
      },
    ];
  }
  const corner = corner_dive_mm ?? 0;
  const crossing = kerf_crossing_dive_mm ?? 0;
  // Most of the cut height was used up by one of the two: then that is what to cure first.
  const most = 0.8 * run.parameters.cut_height_mm;
  if (Math.max(corner, crossing) >= most)
    return [{ what, ...(corner >= crossing ? cornerCause(run) : crossingCause(run)) }];
  if (lost_steps > 0)
    return [
      {
        what,
        parameter: 'z_acceleration_mm_s2',
        do: 'look at the lost steps of Z below: the box no longer knew its height',
      },
    ];
  return [
    {
      what,
      parameter: 'floor_allowance_mm',
      do: `lower it (${nowText(run, 'floor_allowance_mm')}), and look for a tipped-up part or a sheet steeper than slope_limit`,
    },
  ];
}

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

/** The standoff wanders, and neither a bias, nor a speed limit, nor chatter explains it. */
export function followingRule(run: RunSummary): Advice[] {
  const { figures, parameters: p } = run;
  if (!missed(run, 'following-rms') && !missed(run, 'following-p999')) return [];
  const rms = fixed(figures.standoff_error_rms_mm ?? Number.NaN, 3);
  const most = fixed(figures.standoff_error_p999_mm ?? Number.NaN, 2);
  const what = `The standoff wanders: ${rms} mm rms, 99.9 % within ${most} mm${worstContour(run)}`;
  if (p.gain_p_per_s < 0.8 * defaultOf('gain_p_per_s'))
    return [
      { what, parameter: 'gain_p_per_s', do: `${raiseTo(run, 'gain_p_per_s')}: the torch lags behind the sheet` },
    ];
  if (p.gain_p_per_s > 1.5 * defaultOf('gain_p_per_s'))
    return [{ what, parameter: 'gain_p_per_s', do: `${lowerTo(run, 'gain_p_per_s')}: the loop rings` }];
  if (biased(run) || tooSlow(run) || restless(run)) return [];
  return [
    {
      what,
      parameter: 'arc_slope_V_per_mm',
      do: `measure the arc voltage at two standoffs and set it (${nowText(run, 'arc_slope_V_per_mm')}); the gains are divided by it`,
    },
  ];
}

/** `, worst 0.47 mm in the contour of line 34`: where to look first. */
function worstContour({ figures }: RunSummary): string {
  const size = (contour: ContourFigures) => contour.standoff_error_worst_mm ?? 0;
  const [worst] = [...figures.contours].sort((a, b) => size(b) - size(a));
  return worst === undefined ? '' : `, worst ${fixed(size(worst), 2)} mm in the contour of line ${worst.line}`;
}

/** The torch rides too high or too low all the time: a matter of the target, not of the loop. */
export function biasRule(run: RunSummary): Advice[] {
  if (!biased(run)) return [];
  const { parameters: p } = run;
  const off_mm = bias(run);
  const what = `The torch rides ${fixed(Math.abs(off_mm), 2)} mm too ${off_mm > 0 ? 'high' : 'low'} on average`;
  if (p.target_learned === 1)
    return [
      {
        what,
        parameter: 'touch_offset_mm',
        do: `the target is learned at the touched height: correct it by ${signed(off_mm, 2)} mm (${nowText(run, 'touch_offset_mm')})`,
      },
    ];
  const change_V = -off_mm * p.arc_slope_V_per_mm;
  return [
    {
      what,
      parameter: 'target_V',
      do: `set it to ${number(p.target_V + change_V)} V, ${signed(change_V, 1)} V (${nowText(run, 'target_V')})`,
    },
  ];
}

function signed(value: number, decimals: number): string {
  return `${value > 0 ? '+' : ''}${fixed(value, decimals)}`;
}

/** Z could not go as fast as the regulator wanted. */
export function speedRule(run: RunSummary): Advice[] {
  if (!tooSlow(run)) return [];
  const share = fixed(100 * (run.figures.velocity_limited_share ?? 0), 1);
  return [
    {
      what: `Z was at its speed limit for ${share} % of the following time`,
      parameter: 'follow_down_mm_s',
      do: `raise it (${nowText(run, 'follow_down_mm_s')}), or feed more slowly over a sheet this steep`,
    },
  ];
}

/** Z turns round again and again: wear, and noise carried into the cut. */
export function chatterRule(run: RunSummary): Advice[] {
  const { figures, parameters: p } = run;
  if (!restless(run)) return [];
  const what = `Z turns round ${fixed(figures.reversals_per_s ?? 0, 1)} times a second`;
  if (p.reversal_um < defaultOf('reversal_um'))
    return [{ what, parameter: 'reversal_um', do: raiseTo(run, 'reversal_um') }];
  if (p.gain_p_per_s > defaultOf('gain_p_per_s'))
    return [{ what, parameter: 'gain_p_per_s', do: lowerTo(run, 'gain_p_per_s') }];
  return [
    {
      what,
      parameter: 'smoothing_ms',
      do: `raise it (${nowText(run, 'smoothing_ms')}), or reversal_um (${nowText(run, 'reversal_um')}); look for the source of the noise first`,
    },
  ];
}

/** The motor did not follow: from then on the box is wrong about where Z is. */
export function lostStepsRule(run: RunSummary): Advice[] {
  const { lost_steps } = run.figures;
  if (lost_steps === 0) return [];
  return [
    {
      what: `Z lost ${counted(lost_steps, 'step')}`,
      parameter: 'z_acceleration_mm_s2',
      do: `lower it (${nowText(run, 'z_acceleration_mm_s2')}) or z_velocity_mm_s (${nowText(run, 'z_velocity_mm_s')}) until the motor follows`,
    },
  ];
}
