import { FAULT_ROWS } from '../../firmware/wire/code-rows.js';
import type { FaultFigures } from '../properties/index.js';
import { crossingCause } from './advice-dives.js';
import { type Advice, missed, nowText } from './advice-parts.js';
import type { RunSummary } from './run-summary.js';
import { clockText, counted, fixed } from './text.js';

/** Parameters that govern a fault. Where none is named, no setting helps: something is to be repaired. */
const FAULT_PARAMETERS: Readonly<Record<string, string>> = {
  'touch-missing': 'seek_travel_mm',
  'no-arc': 'pierce_height_mm',
  'arc-lost': 'target_V',
  'reading-stuck': 'stuck_ms',
  'reading-saturated': 'reading_gain_mV',
  'crossing-long': 'crossing_path_mm',
  'arc-long': 'arc_longest_s',
  travel: 'travel_mm',
  'wrong-way': 'arc_slope_V_per_mm',
};

/** Each kind of fault once, with how often and where it came first. */
export function faultRule(run: RunSummary): Advice[] {
  const kinds = new Map<number, FaultFigures[]>();
  for (const fault of run.figures.faults) kinds.set(fault.code, [...(kinds.get(fault.code) ?? []), fault]);
  return [...kinds.values()].map((faults) => faultAdvice(run, faults));
}

function faultAdvice(run: RunSummary, faults: readonly FaultFigures[]): Advice {
  const first = faults[0];
  const row = FAULT_ROWS[first.code];
  const times = faults.length === 1 ? '' : `${faults.length} times, first `;
  const at = `${times}in line ${first.line} at ${clockText(first.tick / 1000)}, ${fixed(first.seen_V, 1)} V`;
  const what = `Fault ${first.name}, ${at}: ${row?.meaning ?? 'unknown to this program'}`;
  if (first.name === 'arc-lost' && crossedBefore(run, first))
    return {
      what,
      parameter: 'arc_off_ms',
      do: `the contour crosses a kerf: raise it above the time a crossing takes (${nowText(run, 'arc_off_ms')}), and arc_high_V above target plus crossing (${nowText(run, 'arc_high_V')})`,
    };
  // Over a kerf the voltage is high and stays high however far the torch comes down.
  if (first.name === 'wrong-way' && missed(run, 'kerf-crossing-dive')) return { what, ...crossingCause(run) };
  const parameter = FAULT_PARAMETERS[first.name] ?? '';
  const setting = parameter === '' ? '' : ` (${nowText(run, parameter)})`;
  return { what, parameter, do: `look at ${row?.remedy ?? 'the recorded run'}${setting}` };
}

/** The contour of the fault had held for a kerf crossing. */
function crossedBefore(run: RunSummary, fault: FaultFigures): boolean {
  const contour = run.figures.contours.find((candidate) => candidate.contour === fault.contour);
  return contour?.holds.some((hold) => hold.cause === 'crossing' && hold.count > 0) ?? false;
}

/** The program did not come to its end, and no fault says why. */
export function outcomeRule(run: RunSummary): Advice[] {
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
export function relayRule(run: RunSummary): Advice[] {
  if (!missed(run, 'relay-release')) return [];
  return [
    {
      what: `The firing contact took ${fixed(run.figures.relay_release_ms ?? Number.NaN, 0)} ms to open`,
      parameter: '',
      do: 'look for a diode across its coil that slows it, or a contact that sticks',
    },
  ];
}

/** A law of the box was broken: that is never a matter of taste or of tuning alone. */
export function lawRule(run: RunSummary): Advice[] {
  const broken = run.laws.filter((law) => law.kind === 'law' && !law.kept && law.name !== 'no-contact');
  if (broken.length === 0) return [];
  const names = broken.map((law) => law.name).join(', ');
  return [
    {
      what: `${counted(broken.length, 'law')} broken: ${names}`,
      parameter: '',
      do: 'do not run this box with an arc; keep the setup, the program and the seed, they repeat the run exactly',
    },
  ];
}
