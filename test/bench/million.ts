/** Parses and plans a program of a million lines; prints time and memory of its process. */
import { parseProgram, planProgram } from '../../sim/world/motion/index.js';
import { LIMITS } from './limits.js';
import { figure } from './table.js';

/** A program of so many lines: lanes to and fro in steps of 1 mm, every third of them a half circle. */
function longProgram(lines: number): string {
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

const rss_MB = (): number => process.memoryUsage().rss / 1e6;

const LINES = 1_000_000;
const text = longProgram(LINES);
const before_MB = rss_MB();
const start = process.cpuUsage();
/** Processor time of this process since the start, with its compiler and its garbage collector. */
const seconds = (): number => {
  const { user, system } = process.cpuUsage(start);
  return (user + system) / 1e6;
};
const program = parseProgram(text, 'long.nc');
const parsed_s = seconds();
const plan = planProgram(program, LIMITS);
const planned_s = seconds();
console.log(
  `${program.line_count} lines, ${plan.steps.count} steps: parsed in ${figure(parsed_s)} s, planned in ${figure(planned_s - parsed_s)} s; ` +
    `${figure(rss_MB() - before_MB, 0)} MB more than with the text alone`,
);
