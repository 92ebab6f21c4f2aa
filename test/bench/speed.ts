import { spawnSync } from 'node:child_process';
import { packageFile } from '../../sim/base/package/files.js';
import { Judge, requirementContext } from '../../sim/judge/index.js';
import { type ControlModule, WasmController } from '../../sim/run/controller/index.js';
import { Runner, run } from '../../sim/run/loop/index.js';
import { MotionPlayer, type Plan, parseProgram, planProgram } from '../../sim/world/motion/index.js';
import { World } from '../../sim/world/plant/index.js';
import { EVERYTHING } from './conditions.js';
import { figure, heading, table } from './table.js';

const { box, machine, world } = EVERYTHING.setup;

/** Processor time, not wall time: other programs on the machine then count for less. */
function seconds(work: () => void): number {
  const start = process.cpuUsage();
  work();
  const { user, system } = process.cpuUsage(start);
  return (user + system) / 1e6;
}

/** Median of five, after three to warm up: the compiler works in threads of its own, whose time counts as well. */
function median(work: () => void): number {
  for (let warm_up = 0; warm_up < 3; warm_up++) work();
  const times = Array.from({ length: 5 }, () => seconds(work)).sort((a, b) => a - b);
  return times[2];
}

/** The parts alone, each for as many ticks as the cut has. */
function parts(module: ControlModule, plan: Plan, ticks: number): string[][] {
  const ns = (time_s: number) => figure((time_s / ticks) * 1e9, 0);
  const controller = new WasmController(module);
  const alone = new World(machine, world, 1);
  const row: [string, () => void][] = [
    [
      'control module, called through its interface',
      () => {
        for (let tick = 0; tick < ticks; tick++) controller.tick();
      },
    ],
    [
      'world, torch at rest over the sheet, no arc',
      () => {
        for (let tick = 0; tick < ticks; tick++) alone.advance(0, 0, 0);
      },
    ],
    [
      'table',
      () => {
        const player = new MotionPlayer(plan, { steps_per_mm: machine.table.x_steps_per_mm });
        for (let tick = 0; tick < ticks; tick++) player.advance(true);
      },
    ],
  ];
  return row.map(([name, work]) => [name, ns(median(work)), '']);
}

/** Simulated seconds a second, where they go, and the same kind of loop in plain Python. */
export function speed(module: ControlModule, plan: Plan): void {
  heading('Speed on one core, every part of the world on');
  const options = () => ({ box, machine, world, plan, seed: 1, controller: new WasmController(module) });
  const ticks = run(options(), []).ticks;
  const bare_s = median(() => {
    const runner = new Runner(options());
    while (!runner.finished) runner.runBlock();
  });
  const judged_s = median(() => run(options(), [new Judge(requirementContext(box))]));
  const rate = (time_s: number) => figure(ticks / 1000 / time_s, 0);
  const ns = (time_s: number) => figure((time_s / ticks) * 1e9, 0);
  console.log(
    table([
      ['processor time', 'ns a tick', 'simulated s/s'],
      ['the whole loop, recorded', ns(bare_s), rate(bare_s)],
      ['the same with every requirement and figure', ns(judged_s), rate(judged_s)],
      ...parts(module, plan, ticks),
    ]),
  );
  console.log('wanted: 3500 simulated s/s');
  python(ticks / 1000 / bare_s);
}

function python(rate: number): void {
  const script = packageFile('test/bench/loop.py');
  const { stdout, status } = spawnSync('python3', [script], { encoding: 'utf8' });
  if (status !== 0) {
    console.log('python3 is missing or its loop failed: no comparison (Debian package python3)');
    return;
  }
  const other = (JSON.parse(stdout) as { simulated_s_per_s: number }).simulated_s_per_s;
  console.log(
    `plain Python, the same kind of loop: ${figure(other, 1)} simulated s/s; ratio ${figure(rate / other, 0)}`,
  );
  console.log('wanted: 60 times');
}

/** A program of so many lines: lanes to and fro in steps of 1 mm, every third of them a half circle. */
export function longProgram(lines: number): string {
  const rows = ['G21 G90 G17 F3000', 'G0 X0 Y0', 'M3'];
  for (let step = 0; rows.length < lines - 2; step++) {
    const lane = Math.floor(step / 500);
    const forth = lane % 2 === 0;
    const x = forth ? (step % 500) + 1 : 499 - (step % 500);
    if (step % 500 === 499) rows.push(`G1 Y${(lane + 1) * 2}`);
    else if (step % 3 === 2) rows.push(`G2 X${x} I${forth ? 0.5 : -0.5} J0`);
    else rows.push(`G1 X${x}`);
  }
  return [...rows, 'M5', 'M30', ''].join('\n');
}

export function parsing(limits: Plan['limits']): void {
  heading('A program of 100 000 lines');
  const text = longProgram(100_000);
  const parse_s = median(() => parseProgram(text, 'long.nc'));
  const program = parseProgram(text, 'long.nc');
  const plan_s = median(() => planProgram(program, limits));
  console.log(`parsed in ${figure(parse_s)} s, planned in ${figure(plan_s)} s; wanted: 1 s together`);
}

/** Memory of an hour of cutting: run in a process of its own, so that nothing else counts. */
export function hour(): void {
  heading('An hour of cutting');
  const script = packageFile('dist/tools/test/bench/hour.js');
  const { stdout } = spawnSync(process.execPath, [script], { encoding: 'utf8' });
  console.log(stdout.trim());
  console.log('wanted: 200 MB at most');
}
