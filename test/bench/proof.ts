/**
 * `node dist/tools/test/bench/proof.js [--strikes N] [--from N] [--seed N] [--arcs N] [--only pilots|arcs] [--pierce MS,…] [--slopes V/MM,…]`:
 * how often the proof of the arc permits over a pilot, and how often it refuses a true arc. Prints, asserts nothing. With --from it goes
 * on where an earlier run ended: each strike is its number.
 */
import { parseArgs } from 'node:util';
import { FAULT_ROWS } from '../../firmware/wire/code-rows.js';
import { Random } from '../../sim/base/index.js';
import { loadControlModule } from '../../sim/run/controller/index.js';
import { type Burning, type Noise, type Outcome, Strikes } from './strikes.js';
import { figure, heading, table } from './table.js';

const { values } = parseArgs({
  options: {
    strikes: { type: 'string', default: '20000' },
    from: { type: 'string', default: '0' },
    seed: { type: 'string', default: '1' },
    arcs: { type: 'string', default: '1000' },
    only: { type: 'string', default: '' },
    pierce: { type: 'string', default: '0,100,200,300,500' },
    slopes: { type: 'string', default: '2,3,4,6' },
  },
});
const strikes = Number(values.strikes);
const from = Number(values.from);
const seed = Number(values.seed);
const arcs = Number(values.arcs);
const slopes = values.slopes.split(',').map(Number);

const LEVELS: readonly (readonly [string, Noise])[] = [
  ['low', { white_V: 1, ripple_V: 2, slow_V: 0.3 }],
  ['middle', { white_V: 2, ripple_V: 4, slow_V: 0.6 }],
  ['worst', { white_V: 3, ripple_V: 6, slow_V: 1 }],
];
const between = (random: Random, low: number, high: number) => low + (high - low) * random.uniform();
const endedAs = ({ ended }: Outcome) => (typeof ended === 'number' ? FAULT_ROWS[ended].name : ended);
const module = loadControlModule();

/** Pilots alone: any voltage, still or with jumps, quiet or wandering. */
const PILOTS: readonly (readonly [string, number, number, Noise])[] = [
  ...LEVELS.map(([name, noise]) => [`still, noise ${name}`, 0, 0, noise] as const),
  ...LEVELS.map(([name, noise]) => [`10 V jumps 3/s, noise ${name}`, 10, 3, noise] as const),
  ['5 V jumps 3/s, noise low', 5, 3, LEVELS[0][1]],
  ['3 V jumps 10/s, noise low', 3, 10, LEVELS[0][1]],
  ['wander 2 V below 1 Hz', 0, 0, { white_V: 1, ripple_V: 2, slow_V: 2, corner_Hz: 1 }],
  ['wander 2 V below 1 Hz, 10 V jumps 3/s', 10, 3, { white_V: 1, ripple_V: 2, slow_V: 2, corner_Hz: 1 }],
];

function pilots(): void {
  heading(
    `Pilots of 110 to 150 V, ${strikes} strikes of each kind from number ${from}, seed ${seed}: what came of them`,
  );
  const box = new Strikes(module);
  const rows = PILOTS.map(([name, jump_V, jumps_per_s, noise], kind) => {
    const count = new Map<string, number>();
    let longest = 0;
    for (let number = from; number < from + strikes; number++) {
      const random = new Random(seed + 1_000_003 * (number + 1), kind);
      const burning: Burning = { pilot_V: between(random, 110, 150), jump_V, jumps_per_s };
      const outcome = box.strike(burning, noise, random);
      longest = Math.max(longest, outcome.ticks);
      count.set(endedAs(outcome), (count.get(endedAs(outcome)) ?? 0) + 1);
    }
    const at = (what: string) => String(count.get(what) ?? 0);
    return [name, at('permit'), at('again'), at('no-response'), at('no-arc'), String(longest)];
  });
  console.log(table([['', 'permits', 'another strike', 'no-response', 'no-arc', 'longest, ms'], ...rows]));
}

function trueArcs(): void {
  heading(
    `True arcs, ${arcs} strikes of each kind: % refused; dwell beyond pierce_ms, mean and 99 %, ms; slope as measured, %`,
  );
  const head = ['pierce_ms, noise', ...slopes.map((slope) => `${slope} V/mm`)];
  const rows: string[][] = [];
  for (const contact of [0, 1]) {
    for (const pierce_ms of values.pierce.split(',').map(Number)) {
      if (contact && pierce_ms > 0) continue;
      const box = new Strikes(module, { pierce_ms, supply_contact: contact });
      for (const [level, [name, noise]] of LEVELS.entries()) {
        const cells = slopes.map((slope) => cellOf(box, noise, slope, pierce_ms, level));
        rows.push([`${pierce_ms}, ${name}${contact ? ', with contact' : ''}`, ...cells]);
      }
    }
  }
  console.log(table([head, ...rows]));
}

function cellOf(box: Strikes, noise: Noise, slope_V_per_mm: number, pierce_ms: number, level: number): string {
  const added: number[] = [];
  let short = 0;
  let slopes = 0;
  for (let number = 0; number < arcs; number++) {
    const random = new Random(seed + 7919 * number, 100 + slope_V_per_mm + 10 * level);
    const burning: Burning = {
      slope_V_per_mm,
      pilot_V: between(random, 110, 150),
      voltage_V: between(random, 108, 128),
      excess_V: between(random, 20, 40),
      decay_ms: between(random, 80, 250),
      transfer_ms: Math.round(between(random, 60, 400)),
      persists_ms: random.uniform() < 0.5 ? 0 : Math.round(between(random, 0, 200)),
    };
    const outcome = box.strike(burning, noise, random);
    if (outcome.ended !== 'permit') continue;
    added.push(Math.round(outcome.dwell_ms) - pierce_ms);
    if (outcome.dwell_ms < pierce_ms) short++;
    slopes += outcome.slope_V_per_mm;
  }
  added.sort((a, b) => a - b);
  const mean = added.reduce((a, b) => a + b, 0) / added.length;
  const high = added[Math.floor(0.99 * (added.length - 1))];
  const refused = (100 * (arcs - added.length)) / arcs;
  return `${figure(refused, 2)}; ${figure(mean, 0)}, ${high}; ${figure((100 * slopes) / added.length / slope_V_per_mm, 0)}${short ? `; ${short} short, worst ${added[0]}` : ''}`;
}

if (values.only !== 'arcs') pilots();
if (values.only !== 'pilots') trueArcs();
