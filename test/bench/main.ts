/**
 * `npm run bench [-- --seeds N]`: prints the figures of this project, measured here and now. Machines differ and are
 * shared: compare within one run, quote ratios. Nothing here passes or fails.
 */
import { spawnSync } from 'node:child_process';
import { parseArgs } from 'node:util';
import { loadControlModule } from '../../sim/run/controller/index.js';
import { EXAMPLE_NAME, EXAMPLE_PROGRAM, parseProgram, planProgram } from '../../sim/world/motion/index.js';
import { box } from './box.js';
import { electrical } from './electrical.js';
import { comparison, exampleFigures } from './figures.js';
import { fuzzing } from './fuzzing.js';
import { LIMITS } from './limits.js';
import { yardstick } from './native.js';
import { hour, parsing, speed } from './speed.js';
import { heading } from './table.js';

const { values } = parseArgs({ options: { seeds: { type: 'string', default: '100' } } });
const seeds = Number(values.seeds);
if (!Number.isInteger(seeds) || seeds < 1) {
  console.error(`--seeds ${values.seeds} is not a whole number of 1 or more`);
  process.exit(2);
}

const module = loadControlModule();
const plan = planProgram(parseProgram(EXAMPLE_PROGRAM, EXAMPLE_NAME), LIMITS);
console.log(`standoff bench: node ${process.version}, module ${module.sha256.slice(0, 12)}`);
speed(module, plan);
yardstick(module, plan);
parsing();
hour();
exampleFigures(module, plan, seeds);
comparison(module, plan, Math.min(seeds, 20));
electrical();
await box(module);
await fuzzing(module);

heading('Against the best possible: LQG on the linear plant');
// Another python3 without scipy may stand first on the PATH.
const answers = ['python3', '/usr/bin/python3'].map((python) =>
  spawnSync(python, ['test/bench/lqg.py'], { encoding: 'utf8' }),
);
const lqg = answers.find((answer) => answer.status === 0);
console.log(lqg ? lqg.stdout.trim() : 'python3 with scipy is missing (Debian package python3-scipy)');
