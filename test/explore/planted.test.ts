import { describe, expect, it } from 'vitest';
import { counterexampleOf } from '../../sim/explore/counterexample.js';
import { explore, exploreGuard } from '../../sim/explore/explorer.js';
import { GUARD_INVARIANTS, INVARIANTS } from '../../sim/explore/invariants.js';
import { replay } from '../../sim/explore/replay.js';
import { controlModule } from '../../sim/run/controller/wasm.js';
import { buildModule } from '../mutants/build.js';
import type { Mutant } from '../mutants/mutant.js';
import { MUTANTS } from '../mutants/rows.js';
import { someOf } from '../support/volume.js';
import { DEFECTS } from './defects.js';

/** What the exploration finds in a module with a planted defect, with the counterexample of the first broken invariant. */
async function found(name: string) {
  const module = controlModule(await buildModule(MUTANTS.find((mutant) => mutant.name === name)!));
  const kind = { supply_contact: false, target_learned: false };
  const exploration = explore(module, { ...kind, until: true });
  const [first] = exploration.violations;
  if (first === undefined) return undefined;
  const counterexample = counterexampleOf(exploration, first.before, first.choice, first.after);
  return { invariant: first.invariant, counterexample, replay: replay(module, kind, counterexample) };
}

describe('a planted defect is found, with the shortest way to it, and confirmed with true timers', () => {
  it('a key that drops out for a moment arms the box', async () => {
    const { invariant, counterexample, replay: again } = (await found('key-drop-out-arms'))!;
    expect(invariant).toBe('arming');
    expect(counterexample.map(({ happens }) => happens)).toEqual([
      'the key is off; voltage: nothing',
      'voltage: nothing',
    ]);
    expect(counterexample[1].box).toBe('armed');
    expect(again).toEqual({ ticks: 2, steps: 2, broken: 'arming' });
  });

  it('a request that drops out for a tick counts as taken back', async () => {
    const { invariant, counterexample, replay: again } = (await found('request-drop-out-strikes'))!;
    expect(invariant).toBe('request-withdrawn');
    expect(counterexample).toHaveLength(1);
    expect(again.broken).toBe('request-withdrawn');
  });

  it('a fault is left with the request on', async () => {
    const { invariant, counterexample, replay: again } = (await found('reset-under-request'))!;
    expect(invariant).toBe('fault-stays');
    expect(counterexample.at(-1).happens).toContain('reset is pressed');
    expect(again.broken).toBe('fault-stays');
  });
});

/** For each invariant a mutant that breaks it. */
const BROKEN_BY: Readonly<Record<string, string>> = {
  arming: 'key-off-stays-armed',
  'arc-goes': 'window-without-top',
  'arc-modes-burn': 'arc-lost-in-pierce',
  'arc-needs-contact': 'contact-ignored',
  'arc-needs-evidence': 'window-not-asked',
  'attempt-left-is-taken': 'one-strike-too-few',
  'attempt-needs-no-voltage': 'strike-over-voltage',
  'closed-contact-faults': 'relay-ignored',
  'contact-faults': 'contact-ignored-in-cut',
  'contour-begins-again': 'permit-of-contour-before',
  'early-motion-faults': 'early-motion-ignored',
  'evidence-of-this-strike': 'proof-remembered',
  'fault-disarms': 'fault-stays-armed',
  'fault-stays': 'reset-under-voltage',
  'fault-uses-up': 'fault-keeps-request',
  'follow-needs-motion': 'settles-at-rest',
  'grave-faults-latch': 'fault-does-not-latch',
  'hand-back-place': 'handed-back-beside',
  'hold-cause-in-cut': 'timers-outlive-cut',
  'hold-input-holds': 'no-external-hold',
  'knocked-out-faults': 'breakaway-ignored',
  'late-tick-faults': 'overrun-ignored',
  'latch-goes-with-fault': 'latch-stays',
  'no-blind-attempt': 'no-voltage-not-told',
  'no-second-strike-after-permit': 'permit-of-contour-before',
  'not-above-takeover': 'guard-above-takeover',
  'not-below-bounds': 'guard-below-bottom',
  'open-chain-faults': 'stop-chain-ignored',
  'permit-height': 'permit-at-pierce-height',
  'permit-is-remembered': 'no-permit-memory',
  'permit-needs-arc': 'arc-loss-needs-zero',
  'permit-needs-arc-voltage': 'proof-outlives-window',
  'permit-needs-proof': 'permit-without-proof',
  'proof-ends-with-the-window': 'proof-outlives-window',
  'proof-needs-strokes': 'verdict-out-of-strokes',
  'strokes-above-pierce-height': 'strokes-downwards',
  'refusal-uses-up': 'refused-request-kept',
  'request-and-key-hold-the-cut': 'key-does-not-end-cut',
  'request-withdrawn': 'taken-back-one-tick-early',
  'reset-edge': 'reset-by-level',
  'reset-is-remembered': 'reset-forgets-edge',
  'rise-needs-no-voltage': 'rises-under-voltage',
  'room-for-pierce-height': 'near-sheet-ignored',
  'search-begins-open': 'touch-closed-ignored',
  'standstill-faults': 'standstill-ignored',
  start: 'starts-unhomed',
  'stopped-is-not-homed': 'homed-after-stop',
  'stopped-stays': 'fault-rises-with-chain-open',
  'stopping-faults-stop': 'fault-never-stops-z',
  'stray-motion-cause': 'stray-without-request',
  'stray-motion-faults': 'fault-does-not-latch',
  'voltage-at-rest-cause': 'fall-not-awaited',
  'voltage-at-rest-faults': 'voltage-at-rest-never',
  ...Object.fromEntries(DEFECTS.map(({ name }) => [name, name])),
};
/** Invariants of the guard that nothing breaks as long as the sequence is right: shown from states that are made up. */
const GUARD_BROKEN_BY: Readonly<Record<string, string>> = {
  'fault-is-off': 'guard-without-fault',
  'rest-takes-outputs': 'rest-keeps-z',
  'permit-needs-trigger': 'guard-keeps-permit',
  'steps-need-ownership': 'guard-steps-unowned',
  'trigger-needs-inputs': 'no-guard',
  'trigger-needs-state': 'guard-mode-off-by-one',
};
/** With Z owned the box is always homed, and the exploration chooses no top switch there: no defect that was thought of shows. */
const UNBROKEN = ['homed'];

const mutantOf = (name: string): Mutant => [...DEFECTS, ...MUTANTS].find((mutant) => mutant.name === name)!;
/** The invariants about the supply's contact need it. */
const kindFor = (invariant: string) => ({ supply_contact: invariant === 'arc-needs-contact', target_learned: false });

describe('each invariant is broken by a planted defect', () => {
  it('but for those named here', () => {
    const planted = [...Object.keys(BROKEN_BY), ...Object.keys(GUARD_BROKEN_BY), ...UNBROKEN];
    expect(planted.sort()).toEqual(INVARIANTS.map(({ name }) => name).sort());
    expect(GUARD_INVARIANTS.map(({ name }) => name)).toEqual(expect.arrayContaining(Object.keys(GUARD_BROKEN_BY)));
  });

  it.each(someOf(Object.entries(BROKEN_BY), 9, 9))('%s, by %s', async (invariant, name) => {
    const module = controlModule(await buildModule(mutantOf(name)));
    // Without a tracked copy: the compiler that has just run leaves options of its own in the optimizer that would make it.
    const { violations } = explore(module, { ...kindFor(invariant), until: invariant, tracked: null });
    expect(violations.map((one) => one.invariant)).toContain(invariant);
  });

  it.each(someOf(Object.entries(GUARD_BROKEN_BY), 6, 6))('%s, by %s, the guard alone', async (invariant, name) => {
    const module = controlModule(await buildModule(mutantOf(name)));
    expect(exploreGuard(module, kindFor(invariant)).broken).toContain(invariant);
  });
});
