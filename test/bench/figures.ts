import type { ControlModule } from '../../sim/run/controller/index.js';
import type { Plan } from '../../sim/world/motion/index.js';
import { type CampaignResult, campaign, quantile } from './campaign.js';
import { COMPARISON, type Condition, EVERYTHING, FLAT_SHEET, ONE_V_PER_MM, STATED } from './conditions.js';
import { figure, heading, table } from './table.js';

const HEAD = [
  '',
  'rms',
  '99.9 %',
  'corner dive',
  'kerf dive',
  'reversals/s',
  'at acc. limit',
  'contacts',
  'unfinished',
];

function row(name: string, result: CampaignResult, share: number): string[] {
  const at = (key: keyof CampaignResult['values'], digits = 3) => figure(quantile(result.values[key], share), digits);
  return [
    name,
    at('standoff_error_rms_mm'),
    at('standoff_error_p999_mm'),
    at('corner_dive_mm'),
    at('kerf_crossing_dive_mm'),
    at('reversals_per_s', 1),
    at('acceleration_limited_share', 4),
    String(result.contacts),
    String(result.unfinished),
  ];
}

const SHARES = [
  ['median', 0.5],
  ['90 % of seeds', 0.9],
  ['worst seed', 1],
] as const;

function tell(result: CampaignResult, condition: Condition, wanted: string): void {
  heading(`${condition.name}: ${result.seeds} seeds, ${figure(result.simulated_s, 0)} simulated seconds`);
  console.log(table([HEAD, ...SHARES.map(([name, share]) => row(name, result, share))]));
  const names = Object.keys(result.broken);
  console.log(names.length === 0 ? 'no requirement was broken' : `broken: ${JSON.stringify(result.broken)}`);
  console.log(`wanted: ${wanted}`);
}

/** The figures of the example cut, in mm, over many seeds. */
export function exampleFigures(module: ControlModule, plan: Plan, seeds: number): void {
  const wanted = 'rms <= 0.06, 99.9 % <= 0.20, corner <= 0.30, kerf <= 0.20, no contact, no requirement broken';
  tell(campaign(module, plan, STATED, seeds), STATED, wanted);
  const some = Math.ceil(seeds / 10);
  tell(
    campaign(module, plan, FLAT_SHEET, some),
    FLAT_SHEET,
    'corner and kerf <= 0.15, reversals <= 10/s, <= 5 % at limit',
  );
  tell(campaign(module, plan, ONE_V_PER_MM, some), ONE_V_PER_MM, 'rms <= 0.08, 99.9 % <= 0.30');
  tell(campaign(module, plan, EVERYTHING, seeds), EVERYTHING, 'no contact, no requirement broken');
}

/** What each part of the lockouts is worth: worst of the seeds, in mm. */
export function comparison(module: ControlModule, plan: Plan, seeds: number): void {
  heading(`Side by side, worst of ${seeds} seeds`);
  console.log(table([HEAD, ...COMPARISON.map((each) => row(each.name, campaign(module, plan, each, seeds), 1))]));
  console.log('the worst seed of a column; a run that did not finish counts up to where it stopped');
}
