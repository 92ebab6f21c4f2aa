import { Random } from '../../../sim/base/index.js';
import type { Setup } from '../../../sim/run/setup/index.js';
import { EXAMPLE_PROGRAM } from '../../../sim/world/motion/index.js';
import { FLAT_SHEET, STATED } from '../conditions.js';
import { hardWorld } from '../hard-worlds.js';
import type { SweepCase } from './cut.js';

/** A row of cuts, by number, with what is wanted of them. */
export interface Sweep {
  readonly name: string;
  readonly what: string;
  readonly wanted: string;
  /** Cuts in a round: all combinations once, where there are some. */
  readonly round: number;
  /** The cut of a number, from 0, and the row of the table in which it counts. */
  readonly caseOf: (number: number) => SweepCase & { readonly row: string };
}

type Part = Readonly<Record<string, number | boolean>>;
type Parts = { readonly [S in 'box' | 'machine' | 'world']?: Readonly<Record<string, Part | number>> };

/** A setup with some parts of its sections changed: `{ world: { arc: { crossing_V: 5 } }, box: { mains_Hz: 60 } }`. */
function changed(setup: Setup, { box = {}, machine = {}, world = {} }: Parts): Setup {
  const merged = (start: object, parts: Readonly<Record<string, Part | number>>) =>
    Object.fromEntries(
      Object.entries(start).map(([name, part]) => [name, name in parts ? { ...part, ...(parts[name] as Part) } : part]),
    );
  return {
    box: { ...setup.box, ...box },
    machine: merged(setup.machine, machine),
    world: merged(setup.world, world),
  } as unknown as Setup;
}

const program = (feed_mm_min: number, ...lines: string[]) =>
  ['G21 G90 G17', `F${feed_mm_min.toFixed(0)}`, ...lines, 'M5', 'G4 P1', 'M30', ''].join('\n');
const at = (x_mm: number, y_mm: number) => `X${x_mm.toFixed(4)} Y${y_mm.toFixed(4)}`;
/** Of a list, the one for this number, and what is left of the number for the next list. */
const dealt = <T>(list: readonly T[], number: number): readonly [T, number] => [
  list[number % list.length]!,
  Math.floor(number / list.length),
];
const STREAM = 7300;
const between = (random: Random, low: number, high: number) => low + (high - low) * random.uniform();

/** A line in any direction, within the part of the sheet that a torch at rest is clear of. */
function lineOf(random: Random, length_mm: number, feed_mm_min: number): string {
  const angle = 2 * Math.PI * random.uniform();
  const [dx, dy] = [(length_mm / 2) * Math.cos(angle), (length_mm / 2) * Math.sin(angle)];
  return program(feed_mm_min, `G0 ${at(150 - dx, 130 - dy)}`, 'M3', `G1 ${at(150 + dx, 130 + dy)}`);
}

const RIPPLE: Sweep = {
  name: 'ripple',
  what: 'the example in its stated world under ripple of 6 to 30 V, one and three phases, 50 and 60 Hz',
  wanted: 'rms <= 0.06 mm, no fault, no contact',
  round: 40,
  caseOf: (number) => {
    const [ripple_V_peak, a] = dealt([6, 12, 18, 24, 30], number);
    const [phases, b] = dealt([1, 3], a);
    const [mains_Hz, c] = dealt([50, 60], b);
    const [target_learned, seed] = dealt([0, 1], c);
    const setup = changed(STATED.setup, {
      box: { mains_Hz, target_learned },
      machine: { supply: { phases, mains_Hz } },
      world: { noise: { ripple_V_peak } },
    });
    const row = `${ripple_V_peak} V, target ${target_learned ? 'found' : 'told'}`;
    return { setup, program: EXAMPLE_PROGRAM, seed: seed + 1, row };
  },
};

const REVERSED: Sweep = {
  name: 'reversed',
  what: 'Z reversed at any time after the motion permit, on a line of 200 mm in a hard world',
  wanted: 'live torch > 0 mm in >= 1000 cuts',
  round: 4,
  caseOf: (number) => {
    const random = new Random(number + 1, STREAM);
    const [feed_mm_min] = dealt([1000, 2000, 3000, 4800], number);
    const cut_s = (200 / feed_mm_min) * 60;
    return {
      setup: hardWorld(number + 1, false),
      program: lineOf(random, 200, feed_mm_min),
      seed: number + 1,
      breaks: { kind: 'reversed-direction', after_permit_s: between(random, 0.01, 0.9 * cut_s) },
      row: `F${feed_mm_min}`,
    };
  },
};

/** The highest wave, mm: what the take-over of the example leaves room for. */
const HIGHEST_WAVE_MM = 6;

const WAVES: Sweep = {
  name: 'waves',
  what: 'sound sheets as steep as 0.3 mm/mm on a line of 250 mm, F500 to F3000, in an arc as hard worlds have it',
  wanted: 'no wrong-way, no contact',
  round: 3,
  caseOf: (number) => {
    const random = new Random(number + 1, STREAM + 1);
    const [[low, high]] = dealt(
      [
        [0.05, 0.1],
        [0.1, 0.2],
        [0.2, 0.3],
      ] as const,
      number,
    );
    const steepest = between(random, low, high);
    const longest_mm = (2 * Math.PI * HIGHEST_WAVE_MM) / steepest;
    const wave_length_mm = between(random, 60, Math.min(400, longest_mm));
    const wave_mm = (steepest * wave_length_mm) / (2 * Math.PI);
    const sheet = { tilt_x: 0, tilt_y: 0, wave_mm, wave_length_mm, wave_direction_deg: 360 * random.uniform() };
    return {
      setup: changed(hardWorld(number + 1, false), { world: { sheet } }),
      program: lineOf(random, 250, between(random, 500, 3000)),
      seed: number + 1,
      row: `${low} to ${high} mm/mm`,
    };
  },
};

/** Overlap of a hole, mm. */
const bandOf = (over_mm: number) => `${over_mm < 2 ? '0 to 2' : over_mm < 5 ? '2 to 5' : '5 to 10'} mm over`;

const HOLES: Sweep = {
  name: 'holes',
  what: 'holes of 3 to 20 mm at F500 to F1500 with up to 10 mm of overlap, in hard worlds',
  wanted: 'no fault, no contact',
  round: 36,
  caseOf: (number) => {
    const [feed_mm_min, a] = dealt([500, 800, 1000, 1500], number);
    const [diameter_mm, round] = dealt([3, 4, 5, 6, 8, 10, 12, 16, 20], a);
    const random = new Random(number + 1, STREAM + 2);
    const r = diameter_mm / 2;
    const over = between(random, 0, Math.min(10, 5 * r)) / r;
    const text = program(
      feed_mm_min,
      'G0 X80 Y80',
      'M3',
      `G1 ${at(80 + r, 80)}`,
      `G3 ${at(80 + r, 80)} I${(-r).toFixed(4)} J0`,
      `G3 ${at(80 + r * Math.cos(over), 80 + r * Math.sin(over))} I${(-r).toFixed(4)} J0`,
    );
    return { setup: hardWorld(round + 1, false), program: text, seed: round + 1, row: bandOf(over * r) };
  },
};

const CONTOURS: Sweep = {
  name: 'contours',
  what: 'a rectangle that closes over its lead-in, F500 to F3000, overlap 0 to 10 mm, in hard worlds',
  wanted: 'no fault, no contact',
  round: 72,
  caseOf: (number) => {
    const [crossing_V, a] = dealt([5, 10, 15, 25, 35, 45], number);
    const [feed_mm_min, b] = dealt([500, 1000, 2000, 3000], a);
    const [over_mm, round] = dealt([0, 3, 10], b);
    const hard = hardWorld(round + 1, false);
    // A longer arc than 10 mm over missing metal goes out, whatever holds the torch.
    const slope_V_per_mm = Math.max(hard.world.arc.slope_V_per_mm, crossing_V / 10);
    const over = over_mm > 0 ? [`G1 X${100 + over_mm}`] : [];
    const sides = ['G1 Y100', 'G1 X130', 'G1 Y140', 'G1 X70', 'G1 Y100', 'G1 X100'];
    return {
      setup: changed(hard, { world: { arc: { crossing_V, slope_V_per_mm } }, box: { arc_high_V: 250 } }),
      program: program(feed_mm_min, 'G0 X100 Y92', 'M3', ...sides, ...over),
      seed: round + 1,
      row: `${over_mm} mm over, ${crossing_V} V`,
    };
  },
};

const FLAT: Sweep = {
  name: 'flat',
  what: 'the example over a flat sheet',
  wanted: 'reversals <= 5 a second',
  round: 1,
  caseOf: (number) => ({
    setup: FLAT_SHEET.setup,
    program: EXAMPLE_PROGRAM,
    seed: number + 1,
    row: 'flat',
  }),
};

/** In the order of the report. */
export const SWEEPS: readonly Sweep[] = [RIPPLE, REVERSED, WAVES, HOLES, CONTOURS, FLAT];
