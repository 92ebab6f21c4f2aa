/**
 * `node dist/tools/test/bench/sweeps.js [--only NAME] [--cuts N] [--from N] [--kept FILE] [--set NAME=VALUE]`: rows of cuts that each look for
 * one weakness (sweeps/cases.ts). Prints, asserts nothing. A line for each cut is kept in the file under the hash of the module and what was
 * set; a run that was broken off goes on from there.
 */
import { appendFileSync, existsSync, readFileSync } from 'node:fs';
import { parseArgs } from 'node:util';
import { loadControlModule } from '../../sim/run/controller/index.js';
import { quantile } from './campaign.js';
import { SWEEPS, type Sweep } from './sweeps/cases.js';
import { type SweepResult, sweepCut } from './sweeps/cut.js';
import { figure, heading, table } from './table.js';

const { values } = parseArgs({
  options: {
    only: { type: 'string' },
    cuts: { type: 'string', default: '200' },
    from: { type: 'string', default: '0' },
    kept: { type: 'string' },
    set: { type: 'string', multiple: true, default: [] },
  },
});
const cuts = Number(values.cuts);
const from = Number(values.from);
const set = Object.fromEntries(values.set.map((text) => [text.split('=')[0] ?? '', Number(text.split('=')[1])]));
const chosen = SWEEPS.filter(({ name }) => values.only === undefined || values.only === name);
if (chosen.length === 0 || !(cuts >= 1) || !(from >= 0)) {
  console.error(`give --only one of ${SWEEPS.map(({ name }) => name).join(', ')}; --cuts from 1, --from from 0`);
  process.exit(2);
}

const module = loadControlModule();
const key = [module.sha256.slice(0, 12), ...values.set].join(' ');
type Kept = SweepResult & { readonly key: string; readonly sweep: string; readonly number: number };
const known = new Map<string, Kept>();
if (values.kept !== undefined && existsSync(values.kept)) {
  for (const text of readFileSync(values.kept, 'utf8').split('\n').filter(Boolean)) {
    const line = JSON.parse(text, (_, value) => (value === null ? Number.NaN : value)) as Kept;
    if (line.key === key) known.set(`${line.sweep} ${line.number}`, line);
  }
}

function resultOf({ name, caseOf }: Sweep, number: number): SweepResult {
  const before = known.get(`${name} ${number}`);
  if (before !== undefined) return before;
  const one = caseOf(number);
  const setup = { ...one.setup, box: { ...one.setup.box, ...set } };
  const result = sweepCut(module, { ...one, setup });
  if (values.kept !== undefined)
    appendFileSync(values.kept, `${JSON.stringify({ key, sweep: name, number, ...result })}\n`);
  return result;
}

interface Numbered extends SweepResult {
  readonly number: number;
}

/** Median, 95 % and worst of what there is. */
function spread(list: readonly number[], digits: number): string {
  const sorted = list.filter(Number.isFinite).sort((a, b) => a - b);
  return [0.5, 0.95, 1].map((share) => figure(quantile(sorted, share), digits)).join(' / ');
}

function rowOf(name: string, results: readonly Numbered[]): string[] {
  const seen = results.filter(({ permitted }) => permitted);
  const least = Math.min(...seen.map(({ live_least_mm }) => live_least_mm));
  return [
    name,
    String(results.length),
    String(results.length - seen.length),
    String(seen.filter(({ faults }) => faults.length > 0).length),
    String(seen.filter(({ live_least_mm }) => live_least_mm <= 0).length),
    figure(least, 2),
    spread(
      seen.map(({ mean_mm }) => Math.abs(mean_mm)),
      3,
    ),
    spread(
      seen.map(({ rms_mm }) => rms_mm),
      3,
    ),
    spread(
      seen.map((one) => one.reversals_per_s),
      1,
    ),
  ];
}

const HEAD = [
  '',
  'cuts',
  'no permit',
  'faults',
  'live contact',
  'least, mm',
  '|mean|, mm (median / 95 % / worst)',
  'rms, mm',
  'reversals/s',
];

/** Each fault, or requirement, with how often, and the first cuts that had it. */
function listOf(results: readonly Numbered[], names: (one: Numbered) => readonly string[]): string {
  const found = new Map<string, number[]>();
  for (const one of results) {
    for (const name of names(one)) found.set(name, [...(found.get(name) ?? []), one.number]);
  }
  const texts = [...found].map(([name, list]) => `${name} ${list.length} (${list.slice(0, 8).join(' ')})`);
  return texts.length === 0 ? 'none' : texts.join('; ');
}

function tell({ name, what, wanted }: Sweep, rows: ReadonlyMap<string, readonly Numbered[]>): void {
  heading(`${name}: ${what}`);
  console.log(table([HEAD, ...[...rows].map(([row, results]) => rowOf(row, results))]));
  const all = [...rows.values()].flat().sort((a, b) => a.number - b.number);
  console.log(`faults after the permit: ${listOf(all, (one) => (one.permitted ? one.faults : []))}`);
  console.log(`without a permit: ${listOf(all, (one) => (one.permitted ? [] : one.faults))}`);
  console.log(`live contact: ${listOf(all, (one) => (one.live_least_mm <= 0 ? ['cuts'] : []))}`);
  console.log(`requirements broken: ${listOf(all, ({ broken }) => broken)}`);
  console.log(`wanted: ${wanted}`);
}

console.log(`module ${key}; cuts ${from} to ${from + cuts - 1} of each`);
for (const sweep of chosen) {
  const rows = new Map<string, Numbered[]>();
  for (let number = from; number < from + cuts; number++) {
    const { row } = sweep.caseOf(number);
    if (!rows.has(row)) rows.set(row, []);
    rows.get(row)!.push({ number, ...resultOf(sweep, number) });
  }
  tell(sweep, rows);
}
