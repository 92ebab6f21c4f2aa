import { createHash } from 'node:crypto';
import { describe, expect, it } from 'vitest';
import { INPUT_REQUEST, INPUT_STOP_CHAIN } from '../../firmware/wire/layout.gen.js';
import { Random } from '../../sim/base/index.js';
import { Desk } from './bench.js';

const MODES = ['seek', 'lift', 'strike', 'pierce', 'lower', 'settle', 'follow', 'hold', 'retract'];

/** Volts, steps and lines out of a seed; returns a hash of every output and state byte of every tick. */
function play(desk: Desk, seed: number, ticks: number): string {
  const random = new Random(seed);
  const hash = createHash('sha256');
  desk.plant = false;
  desk.alive = false;
  for (let tick = 0; tick < ticks; tick++) {
    desk.counts = Array.from({ length: 10 }, () => Math.floor(random.between(1300, 1500)));
    desk.x_steps = Math.floor(random.between(-9, 9));
    desk.y_steps = Math.floor(random.between(-9, 9));
    if (random.chance(0.002)) desk.digital_inputs ^= INPUT_REQUEST;
    if (random.chance(0.0005)) desk.digital_inputs ^= INPUT_STOP_CHAIN;
    desk.tick();
    const { integers } = desk.controller.output;
    hash.update(new Uint8Array(integers.buffer, integers.byteOffset, integers.byteLength));
    hash.update(desk.controller.state());
  }
  return hash.digest('hex');
}

describe('the state region', () => {
  it.each(MODES)('copied out in %s and put into another instance gives the same future', (mode) => {
    const first = new Desk().at(mode);
    const second = new Desk();
    second.digital_inputs = first.digital_inputs;
    second.controller.state().set(first.controller.state());
    expect(play(second, 7, 800)).toBe(play(first, 7, 800));
  });

  it('copied out and put back into the same instance gives the same future', () => {
    const desk = new Desk().at('follow');
    const digital_inputs = desk.digital_inputs;
    const kept = desk.controller.state().slice();
    const once = play(desk, 3, 800);
    desk.digital_inputs = digital_inputs;
    desk.controller.state().set(kept);
    expect(play(desk, 3, 800)).toBe(once);
  });

  it('is the same in two instances that got the same inputs, and another where they differ by one count', () => {
    const [a, b, c] = [new Desk().at('follow'), new Desk().at('follow'), new Desk().at('follow')];
    expect(play(a, 5, 500)).toBe(play(b, 5, 500));
    c.plant = false;
    c.true_V = 119;
    c.tick();
    expect(play(c, 5, 500)).not.toBe(play(a, 5, 500));
  });
});

/** Timers and counts, and the modes (or other fields) in which each may stand elsewhere than at 0. */
const TIMERS: Readonly<Record<string, (desk: Desk) => boolean>> = {
  timer: (desk) => !['rest', 'lift', 'lower', 'hold', 'retract', 'fault'].includes(desk.mode),
  arc_ms: (desk) => desk.trigger,
  arc_count: (desk) => desk.trigger,
  stray_ms: (desk) => desk.mode === 'fault',
  reversed_ms: (desk) => desk.trigger,
  saturated_ms: (desk) => ['settle', 'follow', 'hold'].includes(desk.mode),
  crossing_ms: (desk) => desk.mode === 'hold',
  crossing_back_ms: (desk) => desk.mode === 'hold',
  limited_ms: (desk) => desk.mode === 'follow' || desk.mode === 'hold',
  steady_ms: (desk) => ['settle', 'follow', 'hold'].includes(desk.mode),
  learn_ms: (desk) => desk.mode === 'settle',
  strikes: (desk) => desk.owned && desk.mode !== 'seek',
};

describe('a timer that is not in use stands at 0', () => {
  const timers = Object.entries(TIMERS);

  it.each(MODES)('in a cut that ends in %s in any way', (mode) => {
    for (const spoil of SPOILERS) {
      const desk = new Desk({ arc_longest_s: 1000, target_learned: 1 }).at(mode);
      const check = () => {
        // The tick in which it falls out of use may still show it.
        const unused = timers.filter(([, used]) => !used(desk));
        desk.tick();
        for (const [name, used] of unused) {
          if (!used(desk) && desk.state(name) !== 0) expect.fail(`${name} in ${desk.mode} ${desk.stage}`);
        }
      };
      spoil(desk);
      for (let i = 0; i < 400; i++) check();
      desk.plant = true;
      desk.off(INPUT_REQUEST);
      desk.x_steps = 0;
      for (let i = 0; i < 3000; i++) check();
    }
  });
});

/** Ways in which a cut may come to its end. */
const SPOILERS: readonly ((desk: Desk) => void)[] = [
  () => {},
  (desk) => desk.off(INPUT_REQUEST),
  (desk) => desk.off(INPUT_STOP_CHAIN),
  (desk) => {
    // In the middle of a crossing.
    desk.extra_V = 25;
    desk.run(60).off(INPUT_REQUEST);
  },
  (desk) => {
    desk.arc_burns = false;
  },
  (desk) => {
    desk.extra_V = 60;
  },
  (desk) => {
    desk.plant = false;
    desk.true_V = -12;
  },
  (desk) => {
    desk.plant = false;
    desk.counts = new Array<number>(10).fill(4095);
  },
];
