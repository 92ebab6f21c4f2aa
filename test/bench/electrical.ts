import { DEFAULT_LIMITS, dataSheet, searchDesigns } from '../../sim/electrical/index.js';
import { useOf } from '../../sim/run/job/index.js';
import { exampleSetup } from '../../sim/run/setup/index.js';
import { figure, heading } from './table.js';

/** The example's divider: its errors, and the time of the search that proposes it. */
export function electrical(): void {
  heading('Electrical arithmetic: the divider of the example');
  const example = exampleSetup();
  const use = useOf(example);
  for (const series of [96, 192] as const) {
    const machine = { ...example.machine, divider: { ...example.machine.divider, series } };
    const start_ms = performance.now();
    const { tried, kept } = searchDesigns(machine, use, DEFAULT_LIMITS);
    const time_s = (performance.now() - start_ms) / 1000;
    console.log(`E${series}: ${tried} combinations in ${figure(time_s, 2)} s, ${kept} keep every limit (wanted 1 s)`);
  }
  const { calibrated, wander } = dataSheet(example.machine, use, DEFAULT_LIMITS).budget;
  const { accuracy_percent, accuracy_V } = example.machine.meter;
  console.log(
    `total error after calibration with a meter of ${accuracy_percent} % + ${accuracy_V} V: ` +
      `${figure(calibrated.worst_percent, 2)} % (wanted 0.5)`,
  );
  console.log(`steps and drift: ${figure(wander.worst_mm, 4)} mm at ${use.slope_V_per_mm} V/mm (wanted 0.05)`);
}
