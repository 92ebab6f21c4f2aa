import { createHash } from 'node:crypto';
import { describe, expect, it } from 'vitest';
import { INPUT_REQUEST, INPUT_STOP_CHAIN } from '../../firmware/wire/layout.gen.js';
import { Random } from '../../sim/base/index.js';
import { Rig } from './rig.js';

const MODES = ['seek', 'lift', 'strike', 'pierce', 'lower', 'settle', 'follow', 'hold', 'retract'];

/** Volts, steps and lines out of a seed; returns a hash of every output and state byte of every tick. */
function play(rig: Rig, seed: number, ticks: number): string {
  const random = new Random(seed);
  const hash = createHash('sha256');
  rig.plant = false;
  rig.alive = false;
  for (let tick = 0; tick < ticks; tick++) {
    rig.counts = Array.from({ length: 10 }, () => Math.floor(random.between(1300, 1500)));
    rig.x_steps = Math.floor(random.between(-9, 9));
    rig.y_steps = Math.floor(random.between(-9, 9));
    if (random.chance(0.002)) rig.digital_inputs ^= INPUT_REQUEST;
    if (random.chance(0.0005)) rig.digital_inputs ^= INPUT_STOP_CHAIN;
    rig.tick();
    const { integers } = rig.controller.output;
    hash.update(new Uint8Array(integers.buffer, integers.byteOffset, integers.byteLength));
    hash.update(rig.controller.state());
  }
  return hash.digest('hex');
}

describe('the state region', () => {
  it.each(MODES)('copied out in %s and put into another instance gives the same future', (mode) => {
    const first = new Rig().at(mode);
    const second = new Rig();
    second.digital_inputs = first.digital_inputs;
    second.controller.state().set(first.controller.state());
    expect(play(second, 7, 800)).toBe(play(first, 7, 800));
  });

  it('copied out and put back into the same instance gives the same future', () => {
    const rig = new Rig().at('follow');
    const digital_inputs = rig.digital_inputs;
    const kept = rig.controller.state().slice();
    const once = play(rig, 3, 800);
    rig.digital_inputs = digital_inputs;
    rig.controller.state().set(kept);
    expect(play(rig, 3, 800)).toBe(once);
  });

  it('is the same in two instances that got the same inputs, and another where they differ by one count', () => {
    const [a, b, c] = [new Rig().at('follow'), new Rig().at('follow'), new Rig().at('follow')];
    expect(play(a, 5, 500)).toBe(play(b, 5, 500));
    c.plant = false;
    c.true_V = 119;
    c.tick();
    expect(play(c, 5, 500)).not.toBe(play(a, 5, 500));
  });
});

/** Timers and counts, and the modes (or other fields) in which each may stand elsewhere than at 0. */
const TIMERS: Readonly<Record<string, (rig: Rig) => boolean>> = {
  timer: (rig) => !['rest', 'lift', 'lower', 'hold', 'retract', 'fault'].includes(rig.mode),
  arc_ms: (rig) => rig.trigger,
  arc_count: (rig) => rig.trigger,
  stray_ms: (rig) => rig.mode === 'fault',
  reversed_ms: (rig) => rig.trigger,
  saturated_ms: (rig) => ['settle', 'follow', 'hold'].includes(rig.mode),
  crossing_ms: (rig) => rig.mode === 'hold' || rig.mode === 'settle',
  crossing_back_ms: (rig) => rig.mode === 'hold',
  limited_ms: (rig) => rig.mode === 'follow' || rig.mode === 'hold',
  steady_ms: (rig) => ['settle', 'follow', 'hold'].includes(rig.mode),
  strikes: (rig) => rig.owned && rig.mode !== 'seek',
};

describe('a timer that is not in use stands at 0', () => {
  const timers = Object.entries(TIMERS);

  it.each(MODES)('in a cut that ends in %s in any way', (mode) => {
    for (const spoil of SPOILERS) {
      const rig = new Rig({ arc_longest_s: 1000, target_learned: 1 }).at(mode);
      const check = () => {
        // The tick in which it falls out of use may still show it.
        const unused = timers.filter(([, used]) => !used(rig));
        rig.tick();
        for (const [name, used] of unused) {
          if (!used(rig) && rig.state(name) !== 0) expect.fail(`${name} in ${rig.mode} ${rig.stage}`);
        }
      };
      spoil(rig);
      for (let i = 0; i < 400; i++) check();
      rig.plant = true;
      rig.off(INPUT_REQUEST);
      rig.x_steps = 0;
      for (let i = 0; i < 3000; i++) check();
    }
  });
});

/** Ways in which a cut may come to its end. */
const SPOILERS: readonly ((rig: Rig) => void)[] = [
  () => {},
  (rig) => rig.off(INPUT_REQUEST),
  (rig) => rig.off(INPUT_STOP_CHAIN),
  (rig) => {
    // In the middle of a crossing.
    rig.extra_V = 25;
    rig.run(60).off(INPUT_REQUEST);
  },
  (rig) => {
    rig.arc_burns = false;
  },
  (rig) => {
    rig.extra_V = 60;
  },
  (rig) => {
    rig.plant = false;
    rig.true_V = -12;
  },
  (rig) => {
    rig.plant = false;
    rig.counts = new Array<number>(10).fill(4095);
  },
];
