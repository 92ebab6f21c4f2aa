import type { ParameterName } from '../../../../firmware/wire/parameter-rows.js';
import { boxRemedy, type Case, defaultOf, number, quantity, type Suspicion } from './suspicion.js';

/** Parameters that belong together, and what is seen when they are far from what the box comes with. */
interface Group {
  readonly cause: string;
  readonly parameters: readonly ParameterName[];
  readonly seen: string;
}

/** What keeps the regulator from believing a voltage that says nothing about the standoff, and what helps it. */
const LOCKOUTS: readonly ParameterName[] = [
  'corner_fraction',
  'crossing_rise_mm_per_s',
  'crossing_band_mm',
  'hold_carried',
];
const HELPERS: readonly ParameterName[] = ['feed_effect_V', 'target_learned', 'feed_effect_learned'];

const GROUPS: readonly Group[] = [
  {
    cause: 'gain',
    parameters: ['gain_p_per_s', 'gain_i_per_s2', 'gain_d', 'tracking_ms'],
    seen: 'At the table Z hums or swings over flat sheet where the gains are high, and lags behind every wave where they are low.',
  },
  {
    cause: 'smoothing',
    parameters: ['smoothing_ms'],
    seen: 'At the table Z swings slowly about the right height: the error comes to the regulator too late.',
  },
  {
    cause: 'reversal',
    parameters: ['reversal_um'],
    seen: 'At the table Z turns round for every trace of noise where it is low, and late where it is high.',
  },
  {
    cause: 'slope-limit',
    parameters: ['slope_limit', 'floor_allowance_mm'],
    seen: 'At the table the torch stays too high where the sheet falls away.',
  },
  {
    cause: 'follow-speed',
    parameters: ['follow_down_mm_s'],
    seen: 'At the table the torch is too high on every slope that goes down, and never on one that goes up.',
  },
  {
    cause: 'corner-hold',
    parameters: ['corner_fraction', 'corner_path_mm', 'feed_filter_ms'],
    seen: 'At the table the torch dips at corners, where the table slows down.',
  },
  {
    cause: 'crossing-hold',
    parameters: ['crossing_rise_mm_per_s', 'crossing_window_ms', 'crossing_band_mm', 'crossing_ms', 'crossing_path_mm'],
    seen: 'At the table the torch dips where the cut meets an earlier one.',
  },
  {
    cause: 'reading',
    parameters: ['spike_V', 'spike_ms', 'stuck_ms', 'rest_V'],
    seen: 'At the table the voltage that the box shows lags behind a meter, or jumps.',
  },
  {
    cause: 'axis-limits',
    parameters: ['z_velocity_mm_s', 'z_acceleration_mm_s2'],
    seen: 'At the table Z is always at its limit of speed or acceleration.',
  },
];

/** Settings that are off, or far from what the box comes with. */
export const settings = (of: Case): Suspicion[] => [...lockouts(of), ...GROUPS.flatMap((group) => strange(group, of))];

function lockouts({ setup }: Case): Suspicion[] {
  const { box } = setup;
  const zero = (names: readonly ParameterName[]) => names.filter((name) => box[name] === 0);
  if (zero(LOCKOUTS).length === 0) return [];
  const off = [...zero(LOCKOUTS), ...zero(HELPERS)];
  const what = `What keeps the torch from diving at corners and crossings is off: ${off.map((name) => `${name} is 0`).join(', ')}.`;
  const seen =
    'At the table the torch dips at corners, where the table slows down, and where the cut meets an earlier one.';
  const values = Object.fromEntries(off.map((name) => [name, onValue(name, setup.world.arc.feed_effect_V)]));
  return [{ cause: 'lockouts', what, seen, remedies: [boxRemedy(setup, values)] }];
}

/** The feed effect is a matter of the arc, not of the box. */
const onValue = (name: ParameterName, feed_effect_V: number): number =>
  name === 'feed_effect_V' ? feed_effect_V : defaultOf(name);

/** By this factor a value may differ from what the box comes with. */
const STRANGE = 1.45;

function strange({ cause, parameters, seen }: Group, { setup }: Case): Suspicion[] {
  const { box } = setup;
  const far = parameters.filter((name) => {
    const usual = defaultOf(name);
    const low = Math.min(box[name], usual);
    return box[name] !== 0 || usual === 0
      ? Math.max(box[name], usual) > STRANGE * low && box[name] !== usual
      : usual > 0;
  });
  if (far.length === 0) return [];
  const told = far.map((name) => `${name} is ${number(box[name])} instead of ${number(defaultOf(name))}`);
  const what = `${told.join(', ')}: far from what the box comes with.`;
  const values = Object.fromEntries(far.map((name) => [name, defaultOf(name)]));
  return [{ cause, what, seen, remedies: [boxRemedy(setup, values)] }];
}

/** Where nothing is at odds: what is worth a trial, each by itself. */
export function trials({ setup, figures }: Case): Suspicion[] {
  const { box } = setup;
  const error = quantity(figures.standoff_error_rms_mm ?? Number.NaN, 'mm');
  const what =
    figures.standoff_error_rms_mm === null
      ? 'Box, table and arc agree; no value of the setup explains it.'
      : `Box, table and arc agree; the standoff wanders by ${error} rms.`;
  const seen = 'At the table it is seen as a torch that swings about the right height, by no more than that.';
  const one = (cause: string, values: Readonly<Partial<Record<ParameterName, number>>>): Suspicion => ({
    cause,
    what,
    seen,
    remedies: [boxRemedy(setup, values)],
  });
  const scaled = (factor: number) => ({
    gain_p_per_s: factor * box.gain_p_per_s,
    gain_i_per_s2: factor * factor * box.gain_i_per_s2,
  });
  return [
    one('gain', scaled(0.75)),
    one('gain', scaled(1.3)),
    one('reversal', { reversal_um: box.reversal_um / 2 }),
    one('smoothing', { smoothing_ms: 2 * box.smoothing_ms }),
  ];
}
