import { it } from 'vitest';
import { FAULT_NAMES, HOLD_NAMES, MODE_NAMES } from '/work/h/target/firmware/wire/codes.gen.js';
import { loadControlModule, WasmController } from '/work/h/target/sim/run/controller/index.js';
import { run } from '/work/h/target/sim/run/loop/index.js';
import { EXAMPLE_NAME, EXAMPLE_PROGRAM, parseProgram, planProgram } from '/work/h/target/sim/world/motion/index.js';
import { hardWorld } from '/work/h/target/test/bench/hard-worlds.js';
import { LIMITS } from '/work/h/target/test/bench/limits.js';
const seeds = (process.env.SEEDS ?? '1').split(' ').map(Number);
const every = Number(process.env.EVERY ?? 20), back = Number(process.env.BACK ?? 600), tail = Number(process.env.TAIL ?? 60);
it('x', () => {
  const module = loadControlModule();
  const plan = planProgram(parseProgram(EXAMPLE_PROGRAM, EXAMPLE_NAME), LIMITS);
  for (const seed of seeds) {
    const s = hardWorld(seed, false);
    const rows: any[] = []; let at = -1; let n = 0; let prev = 0;
    const sink = { block(b: any) { for (let i = 0; i < b.count; i++) {
      rows.push([n, MODE_NAMES?.[b.mode[i]] ?? b.mode[i], b.stage[i], HOLD_NAMES?.[b.hold[i]] ?? b.hold[i], b.measured_V[i].toFixed(1), b.target_V[i].toFixed(1), b.measured_error_mm[i].toFixed(2), b.z_velocity_mm_s[i].toFixed(1), b.measured_feed_mm_s[i].toFixed(1), (b.z[i]/400).toFixed(2), b.standoff_mm[i].toFixed(2), b.found_target_V[i].toFixed(1), b.feed_effect_V[i].toFixed(1), b.path_mm[i].toFixed(1), b.crossing[i], b.off_sheet[i], b.slope_x[i].toFixed(3), b.slope_y[i].toFixed(3)]);
      if (at < 0 && b.fault[i] && !prev) at = n; prev = b.fault[i]; n++; } } };
    run({ box: s.box, machine: s.machine, world: s.world, plan, seed, controller: new WasmController(module) }, [sink as any]);
    console.log(seed, 'fault at', at, JSON.stringify(s.world.arc), JSON.stringify(s.world.sheet), JSON.stringify(s.world.noise), 'told', s.box.arc_slope_V_per_mm);
    for (let i = Math.max(0, at - back); i < at + tail && i < rows.length; i += every) console.log(rows[i].join(' '));
  }
});
