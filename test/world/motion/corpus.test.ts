import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import type { StandoffError } from '../../../sim/base/index.js';
import { type Plan, parseProgram, planProgram } from '../../../sim/world/motion/index.js';
import { LIMITS } from './support.js';

const TAU = 2 * Math.PI;
/** The outline of an a × b plate. */
const plate = (a: number, b: number) => 2 * (a + b);
/** A lead from the middle of a hole of radius r, and around it. */
const hole = (r: number) => r + TAU * r;
const rounded = (a: number, b: number, r: number) => plate(a, b) - 8 * r + TAU * r;
const INCH = 25.4;

/** Contours, millimetres of cut path, and the corners of the cut: worked out by hand from the drawing of each. */
type Meant = readonly [
  contours: number,
  cut_mm: number,
  bounds: readonly [number, number, number, number],
  origins?: Readonly<Record<string, number>>,
];
const ROSETTE = ((): Meant => {
  const points = Array.from({ length: 721 }, (_, i) => {
    const a = (TAU * i) / 720;
    const r = 34 + 6 * Math.cos(5 * a);
    return { x: 110 + r * Math.cos(a), y: 60 + r * Math.sin(a) };
  });
  const length_mm = points.slice(1).reduce((sum, { x, y }, i) => sum + Math.hypot(x - points[i].x, y - points[i].y), 0);
  const side = (pick: (...values: number[]) => number, axis: 'x' | 'y') => pick(...points.map((point) => point[axis]));
  return [1, length_mm, [side(Math.min, 'x'), side(Math.min, 'y'), side(Math.max, 'x'), side(Math.max, 'y')]];
})();
const SQUARE: Meant = [1, plate(80, 30), [20, 20, 100, 50]];

const READ: Readonly<Record<string, Meant>> = {
  'preambles/bare-square': [1, plate(100, 40), [10, 10, 110, 50]],
  'preambles/colon-free-o-line': [1, plate(80, 30), [15, 15, 95, 45]],
  'preambles/home-and-second-home': [1, plate(60, 40), [30, 30, 90, 70]],
  'preambles/inches': [1, plate(4, 2) * INCH, [INCH, INCH, 5 * INCH, 3 * INCH]],
  'preambles/incremental': [2, 2 * plate(60, 40), [20, 20, 160, 60]],
  'preambles/incremental-centres': [2, hole(4) + 4 + rounded(60, 40, 4), [20, 20, 80, 60]],
  'preambles/long-safety-line': [3, 2 * hole(3) + 5 + plate(100, 30), [10, 5, 110, 40]],
  'preambles/offset-by-position': [1, plate(70, 35), [35, 45, 105, 80]],
  'preambles/offset-in-program': [2, 2 * plate(80, 40), [25, 30, 205, 70]],
  'preambles/one-word-a-line': [1, plate(120, 60), [20, 20, 140, 80]],
  'preambles/packed': [1, plate(120, 50), [12, 12, 132, 62]],
  'preambles/park-in-machine-axes': [1, plate(70, 40), [35, 32, 105, 72], { G53_x_mm: -40, G54_x_mm: 5, G54_y_mm: 2 }],
  'preambles/program-number': [1, plate(60, 60), [15, 15, 75, 75]],
  'preambles/work-offset-two': [1, plate(80, 40), [200, 50, 280, 90], { G55_x_mm: 200, G55_y_mm: 50 }],
  'preambles/zero-set-here': [1, plate(60, 30), [40, 40, 100, 70]],
  'torch/dwell-forms': SQUARE,
  'torch/everything-each-line': SQUARE,
  'torch/fume-fan': SQUARE,
  'torch/off-twice': SQUARE,
  'torch/off-with-rapid': [2, plate(80, 30) + plate(60, 30), [20, 20, 180, 50]],
  'torch/on-with-first-move': [2, plate(80, 30) + plate(60, 30), [20, 20, 180, 50]],
  'torch/outputs-and-waits': SQUARE,
  'torch/overrides': SQUARE,
  'torch/pallet-pause': [2, 2 * plate(60, 30), [20, 20, 160, 50]],
  'torch/pause-between-parts': [3, 3 * plate(60, 30), [20, 20, 240, 50]],
  'torch/probe-before-pierce': [2, 2 * plate(80, 30), [20, 20, 100, 110]],
  // M3 comes before the motion of its line, so the rapid is made with the torch on; a warning says so.
  'torch/several-words': [1, plate(80, 30) + 20 * Math.SQRT2, [0, 0, 100, 50]],
  'torch/speed-word': SQUARE,
  'torch/z-moves': [1, plate(70, 40), [20, 20, 90, 60]],
  'text/after-the-end': SQUARE,
  'text/any-bytes-in-comments': SQUARE,
  'text/arc-with-height': [1, hole(6), [54, 34, 66, 46]],
  'text/big-line-numbers': SQUARE,
  // Block delete is off: the pause is made, and the torch is off from then on.
  'text/block-delete': [1, 80, [20, 20, 100, 20]],
  'text/carriage-returns': SQUARE,
  'text/chords': [1, 20 + 100 + 90 * 40 * Math.sin(Math.PI / 180) + 100 + 20, [20, 20, 140, 60]],
  'text/circle-with-centre-alone': [2, 2 * hole(6), [54, 34, 96, 46]],
  'text/empty-lines-no-last-newline': SQUARE,
  'text/long-comment': SQUARE,
  'text/lower-case-tabs': SQUARE,
  'text/mark-and-crlf': SQUARE,
  'text/messages': SQUARE,
  'text/no-end': SQUARE,
  'text/numbers': [1, 80 + 19.95 + 80 + 19.95, [20, 0.05, 100, 20]],
  'text/radius-arcs': [2, rounded(80, 40, 10) + hole(5), [20, 20, 100, 60]],
  'text/rosette': ROSETTE,
  'text/semicolons': SQUARE,
  'text/spaces-inside-words': SQUARE,
  'text/words-in-any-order': SQUARE,
};

const QUARTER = TAU / 4;
/** By other habits, and not run before the reader stood; the second ten were written after the first fifteen had been run. */
const HELD_OUT: Readonly<Record<string, Meant>> = {
  'held-out/centre-outside-in': [
    2,
    2 * QUARTER + TAU * 8 + 2 + TAU * Math.hypot(2, 34),
    [58 - Math.hypot(2, 34), 54 - Math.hypot(2, 34), 58 + Math.hypot(2, 34), 90],
  ],
  'held-out/comment-heavy': [1, 255, [20, 20, 105, 65]],
  'held-out/every-m-word': [1, plate(60, 40), [20, 20, 80, 60]],
  'held-out/feed-by-section': [1, 240 + 10 * QUARTER, [20, 20, 110, 60]],
  'held-out/height-by-machine': [1, plate(60, 40), [20, 20, 80, 60]],
  'held-out/incremental-arcs': [1, 140 + TAU * 10, [20, 20, 90, 60]],
  'held-out/offset-three-and-nine': [
    2,
    2 * plate(60, 40),
    [205, 5, 365, 145],
    { G59_1_x_mm: 200, G59_1_y_mm: 100, G56_x_mm: 300 },
  ],
  'held-out/optional-stops': [2, 2 * plate(60, 40), [20, 20, 160, 60]],
  // Block delete is off: X85 is gone to.
  'held-out/slash-with-number': [1, plate(65, 40), [20, 20, 85, 60]],
  'held-out/spot-plates': [3, 3 * hole(2), [18, 18, 82, 22]],
  'held-out/tiny-arcs-and-zero-moves': [1, 217 + 1.5 * QUARTER, [20, 20, 100, 50]],
  // Refused at the first run for G80 beside G00; read since.
  'held-out/two-plates-nested': [2, 3 + TAU * 6 + 225, [10, 5, 90, 40]],
  'held-out/upper-packed-inches': [1, (7.5 + 0.5 * QUARTER) * INCH, [INCH, INCH, 3.75 * INCH, 2.5 * INCH]],
  'held-out/zero-comes-last': [1, plate(3, 1.5) * INCH, [INCH, INCH, 4 * INCH, 2.5 * INCH]],
  'held-out-2/conditional-offsets': [2, 2 * plate(60, 30), [60, 20, 120, 50]],
  'held-out-2/decimal-feeds': [1, (5 + 0.5 * QUARTER) * INCH, [INCH, INCH, 2.75 * INCH, 2.25 * INCH]],
  'held-out-2/nested-brackets': [1, plate(60, 40), [20, 20, 80, 60]],
  'held-out-2/no-spaces-semicolons': [1, plate(60, 40), [20, 20, 80, 60]],
  'held-out-2/park-between': [2, 2 * plate(60, 40), [20, 20, 160, 60]],
  'held-out-2/rounded-arcs': [1, 155.34 + 20 * QUARTER, [30, 20, 87.66, 60.01]],
  'held-out-2/start-line-with-moves': [1, plate(60, 40), [20, 20, 80, 60]],
  'held-out-2/two-sided-percent-title': [1, plate(60, 40), [20, 20, 80, 60]],
  'held-out-2/washers-by-shift': [2, 2 * hole(5), [25, 25, 75, 35]],
};

/** Places of the errors and their words, all of them told in one go. */
const REFUSED: Readonly<Record<string, readonly string[]>> = {
  'torch/compensated': ['4:1: "G41" asks for cutter compensation'],
  'torch/inverse-time': ['4:1: "G93" gives the feed as inverse time'],
  'text/subprograms': ['1:1: "O100 sub" is a subprogram or a branch (4 times)'],
  'held-out/left-compensation': ['4:4: "G42" asks for cutter compensation'],
  'held-out-2/expression-corner': ['2:5: "#" is a parameter or an expression (3 times)'],
  'text/variables': ['2:1: "#" is a parameter or an expression (4 times)'],
};

const FOLDER = new URL('corpus/', import.meta.url).pathname;
const textOf = (name: string) => readFileSync(join(FOLDER, `${name}.nc`), 'utf8');
const planOf = (name: string, origins = {}): Plan => planProgram(parseProgram(textOf(name), name, origins), LIMITS);

describe('programs in many styles', () => {
  it('are all told of here', () => {
    const stored = readdirSync(FOLDER, { recursive: true, encoding: 'utf8' }).filter((name) => name.endsWith('.nc'));
    const told = Object.keys({ ...READ, ...HELD_OUT, ...REFUSED }).map((name) => `${name}.nc`);
    expect(told.sort()).toEqual(stored.sort());
  });

  it.each(Object.entries({ ...READ, ...HELD_OUT }))(
    '%s is read unedited as it was meant',
    (name, [contours, cut_mm, corners, origins]) => {
      const plan = planOf(name, origins);
      expect(plan.contours.filter(({ length_mm }) => length_mm > 0)).toHaveLength(contours);
      expect(plan.cut_length_mm).toBeCloseTo(cut_mm, 1);
      const { min_x_mm, min_y_mm, max_x_mm, max_y_mm } = plan.cut_bounds!;
      [min_x_mm, min_y_mm, max_x_mm, max_y_mm].forEach((at_mm, side) => {
        expect(Math.abs(at_mm - corners[side])).toBeLessThan(0.01);
      });
    },
  );

  it.each(Object.entries(REFUSED))('%s is refused, and the right words are named', (name, places) => {
    let refused: StandoffError | undefined;
    try {
      planOf(name);
    } catch (error) {
      refused = error as StandoffError;
    }
    for (const place of places) expect(refused?.what).toContain(place);
    expect(refused?.what.match(/: "/g)).toHaveLength(places.length);
  });
});
