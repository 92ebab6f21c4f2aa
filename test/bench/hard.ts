/**
 * `node dist/tools/test/bench/hard.js [--seeds N] [--from N] [--kept FILE] [--set NAME=VALUE] [--restless] [--errata]`: the box in worlds that disagree with
 * what it was told; with --restless over sheets that grow and give more (hard-worlds.ts), with --errata through a converter with wide codes.
 * A line for each seed is kept in the file, under the hash of the module and what was set; a run that was broken off goes on from there.
 */
import { appendFileSync, existsSync, readFileSync } from 'node:fs';
import { parseArgs } from 'node:util';
import { MODE_FOLLOW } from '../../firmware/wire/codes.gen.js';
import { Judge, requirementContext } from '../../sim/judge/index.js';
import { type ControlModule, loadControlModule, WasmController } from '../../sim/run/controller/index.js';
import { run } from '../../sim/run/loop/index.js';
import { exampleSetup, type Setup } from '../../sim/run/setup/index.js';
import type { TraceBlock, TraceSink } from '../../sim/run/trace/index.js';
import { EXAMPLE_NAME, EXAMPLE_PROGRAM, type Plan, parseProgram, planProgram } from '../../sim/world/motion/index.js';
import { withValues } from '../../sim/world/plant/index.js';
import { campaign, quantile } from './campaign.js';
import { STATED } from './conditions.js';
import { hardWorld, liesTooHigh, shiftedExample } from './hard-worlds.js';
import { LIMITS } from './limits.js';
import { figure, heading, table } from './table.js';

const { values } = parseArgs({
  options: {
    seeds: { type: 'string', default: '100' },
    from: { type: 'string', default: '1' },
    kept: { type: 'string' },
    set: { type: 'string', multiple: true, default: [] },
    restless: { type: 'boolean', default: false },
    errata: { type: 'boolean', default: false },
  },
});
const changed = Object.fromEntries(
  values.set.map((text) => [text.split('=')[0] ?? '', Number(text.split('=')[1])] as const),
);
/** A first contour from which the feed effect cannot be learned: the feed does not change. */
const STRAIGHT = 'G21 G90 F3000\nG0 X200 Y150\nM3\nG1 X450\nM5\nG4 P1\nM2\n';
/** Width of the four wide codes (RP2040 data sheet, erratum E11). */
const WIDE_COUNTS = 9;
/** Path of the first contour that is left out of its figure, mm. */
const FIRST_MM = 5;

/** The error of the first contour after the key, from 5 mm of path on. */
class FirstContour implements TraceSink {
  private square = 0;
  private count = 0;
  private start_mm = Number.NaN;
  constructor(private readonly cut_height_mm: number) {}
  block(block: TraceBlock): void {
    const { contour, mode, path_mm, standoff_mm, crossing, off_sheet } = block;
    for (let row = 0; row < block.count; row++) {
      if (contour[row] !== 0) continue;
      if (Number.isNaN(this.start_mm)) this.start_mm = path_mm[row];
      const beside = crossing[row] !== 0 || off_sheet[row] !== 0;
      if (mode[row] !== MODE_FOLLOW || beside || path_mm[row] - this.start_mm < FIRST_MM) continue;
      const error = standoff_mm[row] - this.cut_height_mm;
      this.square += error * error;
      this.count++;
    }
  }
  rms_mm(): number {
    return Math.sqrt(this.square / this.count);
  }
}

interface Cut {
  readonly seed: number;
  readonly mean_mm: number;
  readonly first_rms_mm: number;
  readonly later_rms_mm: readonly number[];
  readonly least_mm: number;
  readonly contacts: number;
  readonly faults: readonly string[];
  readonly broken: readonly string[];
  readonly ended: string;
}

function cut(module: ControlModule, plan: Plan, setup: Setup, seed: number): Cut {
  const { world } = setup;
  const machine = values.errata ? withValues(setup.machine, { 'converter.wide_counts': WIDE_COUNTS }) : setup.machine;
  const box = { ...setup.box, ...changed };
  const judge = new Judge(requirementContext(box, { relay_release_ms: machine.firing.relay_release_ms }));
  const first = new FirstContour(box.cut_height_mm);
  const outcome = run({ box, machine, world, plan, seed, controller: new WasmController(module) }, [judge, first]);
  const figures = judge.figures.figures();
  return {
    seed,
    mean_mm: figures.standoff_error_mean_mm ?? Number.NaN,
    first_rms_mm: first.rms_mm(),
    later_rms_mm: figures.contours.slice(1).flatMap(({ standoff_error_rms_mm: rms }) => rms ?? []),
    least_mm: figures.least_standoff_mm ?? Number.NaN,
    contacts: figures.contacts,
    faults: figures.faults.map(({ name }) => name),
    broken: judge.results().flatMap(({ kind, kept, name }) => (kind === 'requirement' && !kept ? [name] : [])),
    ended: outcome.ended,
  };
}

function spread(name: string, list: readonly number[], wanted: string): string[] {
  const sorted = list.filter(Number.isFinite).sort((a, b) => a - b);
  return [name, ...[0.5, 0.95, 1].map((share) => figure(quantile(sorted, share))), String(sorted.length), wanted];
}

function tell(cuts: readonly Cut[]): void {
  heading(`Hard world: ${cuts.length} seeds, from ${cuts[0]?.seed} to ${cuts.at(-1)?.seed}, standoff in mm`);
  const rows = [
    ['', 'median', '95 %', 'worst', 'of', 'wanted (95 % / worst)'],
    spread(
      '|mean error| of a program',
      cuts.map(({ mean_mm }) => Math.abs(mean_mm)),
      '0.12 / 0.25',
    ),
    spread(
      'rms of the first contour, from 5 mm on',
      cuts.map((one) => one.first_rms_mm),
      '- / 0.25',
    ),
    spread(
      'rms of a later contour',
      cuts.flatMap((one) => one.later_rms_mm),
      '0.15 / -',
    ),
  ];
  console.log(table(rows));
  const with_contact = cuts.filter(({ contacts }) => contacts > 0);
  const faulted = cuts.filter(({ faults }) => faults.length > 0);
  const broken = cuts.filter((one) => one.broken.length > 0);
  const low = cuts.filter(({ least_mm }) => least_mm < 0.5);
  console.log(`contacts in ${with_contact.length}: ${with_contact.map(({ seed }) => seed).join(' ')}`);
  console.log(`below 0.5 mm in ${low.length}: ${low.map(({ seed }) => seed).join(' ')}`);
  console.log(
    `ended with a fault ${faulted.length}: ${faulted.map(({ seed, faults }) => `${seed} ${faults}`).join('; ')}`,
  );
  const high = cuts.filter(({ seed }) => liesTooHigh(hardWorld(seed, values.restless, false)));
  console.log(`sheet too high for where the example's torch is taken over, so taken over above it: ${high.length}`);
  console.log(`requirement broken in ${broken.length}: ${broken.map((one) => `${one.seed} ${one.broken}`).join('; ')}`);
}

const module = loadControlModule();
const plan = planProgram(parseProgram(EXAMPLE_PROGRAM, EXAMPLE_NAME), LIMITS);
const key = [
  module.sha256.slice(0, 12),
  ...values.set,
  ...(values.restless ? ['restless'] : []),
  ...(values.errata ? ['errata'] : []),
].join(' ');
const known = new Map<number, Cut>();
if (values.kept !== undefined && existsSync(values.kept)) {
  for (const text of readFileSync(values.kept, 'utf8').split('\n').filter(Boolean)) {
    const line = JSON.parse(text, (_, value) => (value === null ? Number.NaN : value)) as Cut & { key: string };
    if (line.key === key) known.set(line.seed, line);
  }
}
const cuts: Cut[] = [];
const from = Number(values.from);
for (let seed = from; seed < from + Number(values.seeds); seed++) {
  const one = known.get(seed) ?? cut(module, plan, hardWorld(seed, values.restless), seed);
  cuts.push(one);
  if (values.kept !== undefined && !known.has(seed))
    appendFileSync(values.kept, `${JSON.stringify({ key, ...one })}\n`);
}
console.log(`module ${key}`);
tell(cuts);

heading('The example, told 118 V');
const shifted = Array.from({ length: 11 }, (_, n) => 108 + 2 * n).map((volts) => ({
  volts,
  ...cut(module, plan, shiftedExample(volts), 1),
}));
console.log(
  table([
    ['true V', ...shifted.map(({ volts }) => String(volts))],
    ['mean error, mm', ...shifted.map(({ mean_mm }) => figure(mean_mm))],
    ['least standoff, mm', ...shifted.map(({ least_mm }) => figure(least_mm))],
    ['contacts', ...shifted.map(({ contacts }) => String(contacts))],
  ]),
);

heading('One straight line of 250 mm as first contour, the example’s world: seeds 1 to 30');
const line = planProgram(parseProgram(STRAIGHT, 'straight.nc'), LIMITS);
const lines = Array.from({ length: 30 }, (_, n) => cut(module, line, exampleSetup(), n + 1));
console.log(
  table([
    ['', 'median', '95 %', 'worst', 'of'],
    spread(
      '|mean error|, mm',
      lines.map(({ mean_mm }) => Math.abs(mean_mm)),
      '',
    ),
    spread(
      'rms from 5 mm on, mm',
      lines.map((one) => one.first_rms_mm),
      '',
    ),
  ]),
);

heading('With the right volts: the stated world');
const told = campaign(
  module,
  plan,
  { ...STATED, setup: { ...STATED.setup, box: { ...STATED.setup.box, ...changed } } },
  Number(values.seeds),
);
const right = (['standoff_error_rms_mm', 'corner_dive_mm', 'kerf_crossing_dive_mm', 'reversals_per_s'] as const).map(
  (name, n) => spread(name, told.values[name], ['0.05 / 0.06', '0.15 / 0.25', '0.10 / 0.15', ''][n]),
);
console.log(table([['', 'median', '95 %', 'worst', 'of', 'wanted (median / worst)'], ...right]));
console.log(`contacts ${told.contacts}, unfinished ${told.unfinished}, broken ${JSON.stringify(told.broken)}`);
