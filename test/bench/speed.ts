import { spawnSync } from 'node:child_process';
import { packageFile } from '../../sim/base/package/files.js';
import { Judge, requirementContext } from '../../sim/judge/index.js';
import { type ControlModule, WasmController } from '../../sim/run/controller/index.js';
import { Runner, run } from '../../sim/run/loop/index.js';
import { MotionPlayer, type Plan } from '../../sim/world/motion/index.js';
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

/** Simulated seconds a second, and where they go. */
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
}

/** Of a million lines, as a user meets them: in a process of its own that has compiled nothing yet. */
export function parsing(): void {
  heading('A program of a million lines');
  const script = packageFile('dist/tools/test/bench/million.js');
  const { stdout } = spawnSync(process.execPath, [script], { encoding: 'utf8' });
  console.log(stdout.trim());
  console.log('wanted: 2 s together');
}

/** Memory of an hour of cutting: run in a process of its own, so that nothing else counts. */
export function hour(): void {
  heading('An hour of cutting');
  const script = packageFile('dist/tools/test/bench/hour.js');
  const { stdout } = spawnSync(process.execPath, [script], { encoding: 'utf8' });
  console.log(stdout.trim());
  console.log('wanted: 200 MB at most');
}
