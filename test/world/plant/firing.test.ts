import { describe, expect, it } from 'vitest';
import type { Fault } from '../../../sim/world/plant/index.js';
import { Rig, type RigOptions } from './rig.js';

/** A burning arc whose trigger output has just gone off. */
function released(options: RigOptions): Rig {
  const rig = new Rig(options).strike().wait(100);
  rig.trigger = 0;
  return rig;
}

const broken = (kind: Fault['kind'], more: Partial<Fault> = {}): RigOptions => ({
  faults: [{ kind, at_s: 0, ...more }],
});

describe('the firing circuit', () => {
  it('closes its relay after the closing time and opens it after the release time', () => {
    const rig = new Rig({ machine: { 'firing.relay_close_ms': 5, 'firing.relay_release_ms': 8 } });
    rig.trigger = 1;
    expect(rig.wait(5).world.cells.firing.relay).toBe(0);
    expect(rig.wait(1).world.cells.firing.relay).toBe(1);
    rig.trigger = 0;
    expect(rig.wait(8).world.cells.firing.relay).toBe(1);
    expect(rig.wait(1).world.cells.firing.relay).toBe(0);
  });

  it('does not close its relay for a pulse shorter than the closing time', () => {
    const rig = new Rig({ machine: { 'firing.relay_close_ms': 5 } });
    rig.trigger = 1;
    rig.wait(4);
    rig.trigger = 0;
    rig.wait(2);
    rig.trigger = 1;
    expect(rig.wait(5).world.cells.firing.relay).toBe(0);
  });

  it('keeps the arc for the release time of its relay', () => {
    const rig = released({ machine: { 'firing.relay_release_ms': 8 }, world: { 'arc.off_ms': 0 } });
    expect(rig.wait(8).world.cells.arc.burning).toBe(1);
    expect(rig.wait(1).world.cells.arc.burning).toBe(0);
  });

  it('burns on with a welded relay', () => {
    const rig = released(broken('welded-relay'));
    expect(rig.wait(5000).world.cells.arc.burning).toBe(1);
    expect(rig.world.cells.firing.relay).toBe(1);
    const ends = released(broken('welded-relay', { for_s: 2 }));
    expect(ends.wait(3000).world.cells.arc.burning).toBe(0);
  });

  it('does not fire by a welded relay that has not closed yet', () => {
    expect(new Rig(broken('welded-relay')).wait(500).world.cells.arc.true_V).toBe(0);
  });

  it('burns on with a trigger that latches in the supply, its contact open', () => {
    const rig = released(broken('latching-trigger'));
    expect(rig.wait(5000).world.cells.arc.burning).toBe(1);
    expect(rig.world.cells.firing.relay).toBe(0);
  });

  it('goes off a latching supply at the second pull, and on again at the next', () => {
    const rig = released({ machine: { 'supply.trigger_latching': true } });
    rig.wait(100);
    expect(rig.world.cells.arc.burning).toBe(1);
    rig.trigger = 1;
    rig.wait(100);
    expect(rig.world.cells.arc.burning).toBe(0);
    rig.trigger = 0;
    rig.wait(100).strike();
    expect(rig.world.cells.arc.starts).toBe(2);
  });

  it('fires with a hand on the torch, without relay or trigger', () => {
    const rig = new Rig({ faults: [{ kind: 'hand-on-trigger', at_s: 0.1, for_s: 1 }] });
    expect(rig.wait(99).world.cells.arc.true_V).toBe(0);
    rig.wait(500);
    expect([rig.world.cells.arc.burning, rig.world.cells.firing.relay]).toEqual([1, 0]);
    expect(rig.wait(1000).world.cells.arc.burning).toBe(0);
  });

  it('stays at no load with the fault arc-never-starts', () => {
    const rig = new Rig(broken('arc-never-starts'));
    rig.trigger = 1;
    expect(rig.wait(5000).world.cells.arc.true_V).toBe(280);
    expect(rig.world.cells.arc.starts).toBe(0);
  });

  it('loses the arc with the fault arc-goes-out, and does not light it again under the same trigger', () => {
    const rig = new Rig({ faults: [{ kind: 'arc-goes-out', at_s: 1, for_s: 0.01 }] }).strike();
    rig.wait(999 - rig.world.tick);
    expect(rig.world.cells.arc.burning).toBe(1);
    expect(rig.wait(1).world.cells.arc.burning).toBe(0);
    rig.wait(2000);
    expect([rig.world.cells.arc.burning, rig.world.cells.arc.starts]).toEqual([0, 1]);
  });

  it('closes the supply’s own contact a delay after transfer and opens it a delay after the arc', () => {
    const rig = new Rig({ machine: { 'supply.contact_delay_ms': 10 } }).strike();
    expect(rig.wait(9).world.cells.wires.contact).toBe(0);
    expect(rig.wait(1).world.cells.wires.contact).toBe(1);
    rig.trigger = 0;
    for (let n = 0; n < 50 && rig.world.cells.arc.burning === 1; n++) rig.wait(1);
    expect(rig.wait(9).world.cells.wires.contact).toBe(1);
    expect(rig.wait(1).world.cells.wires.contact).toBe(0);
  });

  it('never closes the supply’s own contact with the fault missing-supply-contact', () => {
    const rig = new Rig(broken('missing-supply-contact')).strike();
    let closed = 0;
    rig.wait(500, 0, () => {
      closed += rig.world.cells.wires.contact;
    });
    expect(closed).toBe(0);
  });
});
