import { describe, expect, it } from 'vitest';
import {
  INPUT_STOP_CHAIN,
  OUTPUT_LATCHED_STOP,
  OUTPUT_PERMIT,
  OUTPUT_TRIGGER,
} from '../../../firmware/wire/layout.gen.js';
import type { TraceBlock } from '../../../sim/run/trace/index.js';
import { type FaultKind, MACHINE_ROWS } from '../../../sim/world/plant/index.js';
import { cut, DIAGONAL, DWELL, STRAIGHT } from './cut.js';

/** Time in the middle of the straight cut, s. */
const MID_CUT_S = 9;

/** What the digital outputs do after a moment. */
class After {
  trigger_ms = 0;
  permit_ms = 0;
  latched = false;
  lowest_mm = Number.POSITIVE_INFINITY;
  constructor(private readonly from_tick: number) {}

  readonly watch = (block: TraceBlock): void => {
    for (let row = 0; row < block.count; row++) {
      if (block.first_tick + row < this.from_tick) continue;
      const digital_outputs = block.digital_outputs[row];
      if (digital_outputs & OUTPUT_TRIGGER) this.trigger_ms++;
      if (digital_outputs & OUTPUT_PERMIT) this.permit_ms++;
      if (digital_outputs & OUTPUT_LATCHED_STOP) this.latched = true;
      this.lowest_mm = Math.min(this.lowest_mm, block.standoff_mm[row]);
    }
  };
}

// kind, value, fault that the box must name, longest time with the trigger on after it (ms)
const MID_CUT: readonly [FaultKind, number | undefined, string, number][] = [
  ['open-lead', undefined, 'no-voltage', 150],
  ['reversed-leads', undefined, 'reversed', 60],
  ['shorted-capacitor', undefined, 'no-voltage', 150],
  ['stuck-code', undefined, 'reading-stuck', 60],
  ['resistor-top-open', undefined, 'no-voltage', 150],
  ['resistor-bottom-short', undefined, 'no-voltage', 150],
  ['resistor-bottom-open', undefined, 'reading-saturated', 60],
  ['resistor-top-short', undefined, 'crossing-long', 500],
  ['dead-converter', undefined, 'reversed', 60],
  ['arc-goes-out', undefined, 'arc-lost', 200],
  ['breakaway', undefined, 'breakaway', 10],
  ['reversed-direction', undefined, 'wrong-way', 2000],
];

describe('a part that fails in the middle of a cut', () => {
  for (const [kind, value, fault, longest_ms] of MID_CUT) {
    it(`${kind}: the box says ${fault}, the trigger goes off, the table stops, the torch meets nothing`, () => {
      const after = new After(MID_CUT_S * 1000);
      const failing = { kind, at_s: MID_CUT_S, ...(value !== undefined && { value }) };
      const world = { 'sheet.tilt_x': 0.02 };
      const { outcome, faults, broken, figures } = cut(
        STRAIGHT,
        { box: { target_learned: 0 }, faults: [failing], world },
        after.watch,
      );
      expect(faults[0]).toBe(fault);
      expect(after.trigger_ms).toBeGreaterThan(0);
      expect(after.trigger_ms).toBeLessThanOrEqual(longest_ms);
      expect(after.permit_ms).toBeLessThanOrEqual(longest_ms);
      expect(outcome.ended).toBe('stopped');
      // Reversed, Z goes down where it should retract: the dead torch is stopped by its switch, a float's travel on the sheet.
      const dead_torch = kind === 'reversed-direction' ? 1 : 0;
      expect(figures.contacts).toBe(dead_torch);
      expect(broken).toEqual(dead_torch === 1 ? ['no-contact'] : []);
    });
  }
});

describe('a firing circuit that does not let go', () => {
  for (const [kind, fault] of [
    ['welded-relay', 'relay-closed'],
    ['latching-trigger', 'voltage-at-rest'],
    ['stuck-readback', 'relay-closed'],
  ] as const) {
    it(`${kind}: what does not end with the cut sets the latched stop`, () => {
      const after = new After(0);
      const { faults, outcome } = cut(STRAIGHT, { faults: [{ kind, at_s: MID_CUT_S }] }, after.watch);
      expect(faults).toContain(fault);
      expect(after.latched).toBe(true);
      expect(outcome.reason).not.toBe('no motion permit in time');
    });
  }

  const RELEASE = MACHINE_ROWS.find(({ path }) => path === 'firing.relay_release_ms')!;
  it.each([0, 0.5, 1])('a sound relay that takes %d of the longest time that a setup allows is no fault', (share) => {
    const release_ms = Math.round(RELEASE.max * share);
    const { faults, broken, figures } = cut(STRAIGHT, { machine: { 'firing.relay_release_ms': release_ms } });
    expect([faults, broken]).toEqual([[], []]);
    expect(figures.relay_release_ms).toBeGreaterThanOrEqual(release_ms);
    // Half of the time after which a closed contact is a fault, and what counting adds.
    expect(figures.relay_release_ms).toBeLessThanOrEqual(102);
  });

  it('a hand on the trigger of the torch at rest sets the latched stop, and no cut begins', () => {
    const after = new After(0);
    const { faults, figures } = cut(STRAIGHT, { faults: [{ kind: 'hand-on-trigger', at_s: 0.6 }] }, after.watch);
    expect(faults).toEqual(['voltage-at-rest']);
    expect(after.latched).toBe(true);
    expect(figures.cut_length_mm).toBe(0);
  });
});

describe('a start that fails', () => {
  const never: readonly [FaultKind, string][] = [
    ['arc-never-starts', 'no-arc'],
    ['open-lead', 'no-voltage'],
    ['reversed-leads', 'reversed'],
    ['stuck-touch-switch', 'touch-closed'],
    ['touch-never-closes', 'breakaway'],
    ['reversed-direction', 'touch-missing'],
  ];
  for (const [kind, fault] of never) {
    it(`${kind}: the box says ${fault}, and the motion permit is never given`, () => {
      const after = new After(0);
      const { faults, outcome } = cut(STRAIGHT, { faults: [{ kind, at_s: 0.1 }] }, after.watch);
      expect(faults[0]).toBe(fault);
      expect(after.permit_ms).toBe(0);
      expect(outcome).toMatchObject({ ended: 'stopped', reason: 'no motion permit in time' });
    });
  }

  it('strikes again as often as it is told, then gives up', () => {
    const strikes = (strike_retries: number) => {
      let count = 0;
      let before = 0;
      cut(STRAIGHT, { box: { strike_retries }, faults: [{ kind: 'arc-never-starts', at_s: 0.1 }] }, (block) => {
        for (let row = 0; row < block.count; row++) {
          const trigger = block.digital_outputs[row] & OUTPUT_TRIGGER;
          if (trigger && !before) count++;
          before = trigger;
        }
      });
      return count;
    };
    expect([strikes(0), strikes(2), strikes(5)]).toEqual([1, 3, 6]);
  });

  it('an arc that starts at the second attempt is cut with', () => {
    const faults = [{ kind: 'arc-never-starts' as const, at_s: 0.1, for_s: 6.5 }];
    const { outcome, figures } = cut(STRAIGHT, { faults });
    expect(outcome.ended).toBe('finished');
    expect(figures.cut_length_mm).toBeGreaterThan(250);
  });
});

describe('what people and tables do', () => {
  it('the stop chain: trigger off in the same tick, Z stops and stays', () => {
    let opened = -1;
    let fired_after = 0;
    let moved_after = 0;
    const operator = [
      { at_s: 0.2, line: 'key', on: true },
      { at_s: MID_CUT_S, line: 'stop-chain', on: false },
    ] as const;
    const { faults, broken } = cut(STRAIGHT, { operator, world: { 'sheet.tilt_x': 0.02 } }, (block) => {
      for (let row = 0; row < block.count; row++) {
        const tick = block.first_tick + row;
        if (!(block.digital_inputs[row] & INPUT_STOP_CHAIN) && opened < 0) opened = tick;
        if (opened < 0) continue;
        if (block.digital_outputs[row] & OUTPUT_TRIGGER) fired_after++;
        if (tick > opened + 30 && block.z_steps[row] !== 0) moved_after++;
      }
    });
    expect(opened).toBe(MID_CUT_S * 1000);
    expect([fired_after, moved_after]).toEqual([0, 0]);
    expect(faults).toEqual(['stop-chain']);
    expect(broken).toEqual([]);
  });

  it('the key turned off in the middle of a cut ends it and hands Z back', () => {
    const operator = [
      { at_s: 0.2, line: 'key', on: true },
      { at_s: MID_CUT_S, line: 'key', on: false },
    ] as const;
    const { faults, broken, outcome } = cut(STRAIGHT, { operator });
    expect(faults).toEqual([]);
    expect(broken).toEqual([]);
    expect(outcome).toMatchObject({ ended: 'stopped', reason: 'permit withdrawn' });
  });

  it('a request that drops out for 5 ms ends the cut and does not strike it again', () => {
    const operator = [
      { at_s: 0.2, line: 'key', on: true },
      { at_s: MID_CUT_S, line: 'request', on: false },
      { at_s: MID_CUT_S + 0.005, line: 'request', on: true },
    ] as const;
    const { figures, broken } = cut(STRAIGHT, { operator });
    expect(figures.starts).toBe(1);
    expect(broken).toEqual([]);
  });

  it('a key that was on at power-up fires nothing until it is turned off and on', () => {
    const operator = [{ at_s: 0, line: 'key', on: true }] as const;
    expect(cut(STRAIGHT, { operator }).figures.starts).toBe(0);
  });

  it('a table that looks at the permit only at the start drives on after a lost arc: the latched stop opens', () => {
    const after = new After(0);
    const faults = [{ kind: 'arc-goes-out' as const, at_s: MID_CUT_S }];
    const careless = cut(
      STRAIGHT,
      { faults, machine: { 'table.permit_watched': false }, box: { stray_ms: 200 } },
      after.watch,
    );
    expect(after.latched).toBe(true);
    expect(careless.faults).toContain('stray-motion');
    expect(careless.outcome.reason).toBe('latched stop of the box');
    const careful = new After(0);
    cut(STRAIGHT, { faults, box: { stray_ms: 200 } }, careful.watch);
    expect(careful.latched).toBe(false);
  });
});

describe('a table that stands, or seems to', () => {
  /** Longest time that the arc burned while the table truly stood, ms. */
  class Stood {
    longest_ms = 0;
    private ms = 0;
    private x_mm = 0;
    readonly watch = ({ count, x_mm, burning }: TraceBlock): void => {
      for (let row = 0; row < count; row++) {
        this.ms = burning[row] && x_mm[row] === this.x_mm ? this.ms + 1 : 0;
        this.x_mm = x_mm[row];
        this.longest_ms = Math.max(this.longest_ms, this.ms);
      }
    };
  }

  it('a long dwell with the torch on: standstill, and the latched stop ends the program', () => {
    const stood = new Stood();
    const { outcome, faults, broken } = cut(DWELL, {}, stood.watch);
    expect(faults).toEqual(['standstill']);
    expect(outcome).toMatchObject({ ended: 'stopped', reason: 'latched stop of the box' });
    expect(stood.longest_ms).toBeGreaterThan(5000);
    expect(stood.longest_ms).toBeLessThan(5200);
    expect(broken).toEqual([]);
  });

  it('a dwell shorter than standstill_s is cut through', () => {
    const { outcome, faults } = cut(DWELL, { box: { standstill_s: 21 } });
    expect(faults).toEqual([]);
    expect(outcome.ended).toBe('finished');
  });

  it.each([0.1, MID_CUT_S])(
    'a dead tap of the X steps from %f s on in a cut along X: standstill, trigger off',
    (at_s) => {
      const after = new After(MID_CUT_S * 1000);
      const faulty = { faults: [{ kind: 'dead-x-step-tap' as const, at_s }], box: { standstill_s: 2 } };
      const { outcome, faults, broken, figures } = cut(STRAIGHT, faulty, after.watch);
      expect(faults).toEqual(['standstill']);
      expect(after.trigger_ms).toBeLessThan(2200);
      expect(after.latched).toBe(true);
      expect(outcome.ended).toBe('stopped');
      expect(figures.contacts).toBe(0);
      expect(broken).toEqual([]);
    },
  );

  it('a dead tap of the Y steps in a cut along X is not noticed, nor one of two in a diagonal cut', () => {
    for (const [kind, program] of [
      ['dead-y-step-tap', STRAIGHT],
      ['dead-y-step-tap', DIAGONAL],
      ['dead-x-step-tap', DIAGONAL],
    ] as const) {
      const { outcome, faults } = cut(program, { faults: [{ kind, at_s: 0.1 }], box: { standstill_s: 2 } });
      expect([outcome.ended, faults], `${kind}`).toEqual(['finished', []]);
    }
  });
});
