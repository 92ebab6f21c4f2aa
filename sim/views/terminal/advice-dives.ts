import { type Advice, defaultOf, lowerTo, missed, missText, nowText, number, raiseTo } from './advice-parts.js';
import type { RunSummary } from './run-summary.js';
import { counted } from './text.js';

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
