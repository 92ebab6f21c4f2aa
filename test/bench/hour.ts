/** One hour of cutting with requirements, figures, hash and a compressed trace; prints the peak memory of its process. */
import { mkdtempSync, rmSync, statSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { Judge, requirementContext } from '../../sim/judge/index.js';
import { loadControlModule, WasmController } from '../../sim/run/controller/index.js';
import { run } from '../../sim/run/loop/index.js';
import { openCsvWriter, TraceHash } from '../../sim/run/trace/index.js';
import { parseProgram, planProgram } from '../../sim/world/motion/index.js';
import { EVERYTHING } from './conditions.js';
import { LIMITS } from './limits.js';

/** Lanes of 540 mm, 5 mm apart, six to a contour, on a sheet of 2 m: about an hour with the torch sequences. */
const CONTOURS = 52;
const SHEET_MM = 2000;

function hourProgram(): string {
  const lines = ['G21 G90 G17 F3000'];
  for (let contour = 0; contour < CONTOURS; contour++) {
    const y = 20 + contour * 35;
    lines.push(`G0 X20 Y${y}`, 'M3');
    for (let lane = 0; lane < 6; lane++) lines.push(`G1 X${lane % 2 === 0 ? 560 : 20}`, `G1 Y${y + (lane + 1) * 5}`);
    lines.push('M5', 'G4 P0.8');
  }
  return [...lines, 'M30', ''].join('\n');
}

const { box, machine: table, world } = EVERYTHING.setup;
const machine = { ...table, table: { ...table.table, sheet_height_mm: SHEET_MM } };
const plan = planProgram(parseProgram(hourProgram(), 'hour.nc'), LIMITS);
const folder = mkdtempSync(join(tmpdir(), 'standoff-'));
const file = join(folder, 'hour.csv.gz');
try {
  const controller = new WasmController(loadControlModule());
  const writer = openCsvWriter(file, { seed: 1, module_sha256: controller.module_sha256 }, false);
  const judge = new Judge(requirementContext(box));
  const outcome = run({ box, machine, world, plan, seed: 1, controller }, [judge, new TraceHash(), writer]);
  writer.close();
  const peak_MB = process.resourceUsage().maxRSS / 1024;
  const figures = judge.figures.figures();
  console.log(
    `${(outcome.ticks / 1000).toFixed(0)} simulated seconds, ${figures.starts} starts, ended: ${outcome.ended} ${outcome.reason}; ` +
      `peak memory ${peak_MB.toFixed(0)} MB; trace ${(statSync(file).size / 1e6).toFixed(0)} MB compressed`,
  );
} finally {
  rmSync(folder, { recursive: true });
}
