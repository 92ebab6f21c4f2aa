import { describe, expect, it } from 'vitest';
import { plantFault } from '../../sim/campaign/index.js';
import { DEFAULT_LIMITS, dataSheet } from '../../sim/electrical/index.js';
import { asParts } from '../../sim/run/job/index.js';
import { exampleSetup } from '../../sim/run/setup/index.js';
import { Rig, rms } from '../world/plant/rig.js';
import { machineWith, USE } from './machine.js';

const example = exampleSetup();
const data_sheet = dataSheet(example.machine, USE, DEFAULT_LIMITS);

/** Machine values for a rig, so that the computed figures are not fed back to it. */
const CHAIN = {
  'divider.ratio': example.machine.divider.ratio,
  'divider.rc_ms': example.machine.divider.rc_ms,
};

describe('the example’s divider, as computed and as the simulated chain measures it', () => {
  it('is what its parts make, to the digits that the setup gives', () => {
    expect(asParts(example).machine).toEqual(example.machine);
  });

  it('has the same step: counts rise with the arc voltage as computed', () => {
    const reading = (true_V: number) => {
      const rig = new Rig({ machine: CHAIN, world: { 'arc.voltage_at_cut_V': true_V } }).strike();
      return rig.wait(400).world.readings[9];
    };
    // Two readings are rounded, so a difference of some 1200 counts is known to one in it.
    const step_V = (160 - 40) / (reading(160) - reading(40));
    expect(Math.abs(step_V / data_sheet.scale.step_V - 1)).toBeLessThan(1 / 1200);
  });

  it('has the same delay: a ramp of the arc voltage is read late by as much as computed', () => {
    const rig = new Rig({ machine: CHAIN }).strike().wait(400);
    const late_ms: number[] = [];
    // 3 steps a millisecond are 7.5 µm and 30 mV; after 200 ms the ramp is long settled.
    rig.wait(200, 3);
    let before_V = rig.world.cells.arc.true_V;
    rig.wait(1000, 3, () => {
      const slope_V_per_ms = rig.world.cells.arc.true_V - before_V;
      before_V = rig.world.cells.arc.true_V;
      late_ms.push((rig.world.cells.arc.true_V - rig.volts(rig.world.readings[9])) / slope_V_per_ms);
    });
    const mean_ms = late_ms.reduce((sum, each) => sum + each, 0) / late_ms.length;
    // The last reading is taken at the tick's end: half the time between readings is not in it. A held input makes a
    // stage late by half a reading less than its time constant. A count is 3.2 ms of the ramp: its rounding's mean over
    // a thousand readings is known to 3.2/√12/√1000 = 0.03 ms; two of these.
    expect(Math.abs(mean_ms - (data_sheet.filter.delay_ms - 0.05 - 0.05))).toBeLessThan(0.06);
  });

  it('has the same range: the no-load voltage is read, and full scale is where it is computed', () => {
    const saturated = (no_load_V: number) => {
      const rig = new Rig({ machine: { ...CHAIN, 'supply.no_load_V': no_load_V }, world: { 'arc.no_load_ms': 500 } });
      rig.trigger = 1;
      return rig.wait(100).world.readings[9] === 4095;
    };
    expect(saturated(data_sheet.scale.full_scale_V - 1)).toBe(false);
    expect(saturated(data_sheet.scale.full_scale_V + 1)).toBe(true);
  });

  it('has the same noise on a reading', () => {
    const rig = new Rig({ machine: { ...CHAIN, 'converter.noise_counts': example.machine.converter.noise_counts } });
    // Own scale of the rig: volts of the arc. 20 000 readings know an rms to half a per cent.
    expect(rms(rig.record_V(2000)) / data_sheet.budget.noise_V_rms).toBeCloseTo(1, 1);
  });

  it.each(data_sheet.faults)('$part $failure: the chain reads what the circuit gives', (fault) => {
    const rig = new Rig({ machine: CHAIN, faults: [plantFault(fault, 0.5)] }).strike();
    rig.wait(1500 - rig.world.tick);
    // The computed ratio has more digits than the setup's: one count at the highest code.
    expect(Math.abs(rig.world.readings[9] - fault.code)).toBeLessThanOrEqual(1);
  });

  it('keeps every limit and rating', () => {
    expect(data_sheet.violated).toEqual([]);
    expect(data_sheet.findings).toEqual([]);
  });

  it('reaches the figures set for it', () => {
    expect(data_sheet.budget.calibrated.worst_percent).toBeLessThanOrEqual(0.5);
    expect(data_sheet.budget.wander.worst_mm).toBeLessThanOrEqual(0.05);
    expect(machineWith().divider).toEqual(example.machine.divider);
  });
});
