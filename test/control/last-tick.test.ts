// A bound is kept to the tick: in the last tick before its fault the count is one below it.
import { describe, expect, it } from 'vitest';
import { Rig } from './rig.js';

const unplugged = (rig: Rig, true_V: number) => {
  rig.plant = false;
  rig.true_V = true_V;
};

const BOUNDS: readonly (readonly [
  fault: string,
  count: string,
  bound: number,
  begin: () => Rig,
  cause: (rig: Rig) => void,
])[] = [
  [
    'contact',
    'contact_ms',
    20,
    () => new Rig().cutting().run(100),
    (rig) => {
      rig.touch_stuck = true;
    },
  ],
  [
    'early-motion',
    'early_ms',
    25,
    () => new Rig().at('strike'),
    (rig) => {
      rig.x_steps = 8;
    },
  ],
  ['reversed', 'reversed_ms', 10, () => new Rig().at('strike'), (rig) => unplugged(rig, -60)],
  ['reading-saturated', 'saturated_ms', 5, () => new Rig().cutting().run(100), (rig) => unplugged(rig, 600)],
  [
    'standstill',
    'standstill_ms',
    1000,
    () => new Rig({ standstill_s: 1 }).cutting().run(100),
    (rig) => {
      rig.x_steps = 0;
    },
  ],
  [
    'crossing-long',
    'crossing_ms',
    200,
    () => new Rig({ crossing_ms: 200, crossing_path_mm: 50 }).cutting().run(600),
    (rig) => {
      rig.extra_V = 30;
    },
  ],
  ['voltage-at-rest', 'at_rest_ms', 20, () => new Rig().ready().run(2000), (rig) => unplugged(rig, 100)],
];

describe('the last tick before a fault', () => {
  it.each(BOUNDS)('%s: %s is one below %i', (fault, count, bound, begin, cause) => {
    const rig = begin();
    cause(rig);
    let last = 0;
    for (let tick = 0; tick < 5000 && rig.mode !== 'fault'; tick++) {
      last = rig.state(count);
      rig.tick();
    }
    expect([rig.fault, last]).toEqual([fault, bound - 1]);
  });
});
