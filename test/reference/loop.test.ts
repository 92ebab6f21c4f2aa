import { expect, it } from 'vitest';
import { MODE_FOLLOW } from '../../firmware/wire/codes.gen.js';
import { DESK_BOX, Desk } from './desk.js';
import { askPython, describeAgainst, SCIPY } from './support.js';

const RC_MS = 0.47;
const STEP_MM = 0.2;
const TICKS = 1500;
/** Time to come to rest before the step. */
const REST_TICKS = 2000;
/** One count of the desk's converter, mm. */
const COUNT_MM = 0.01 / 12;

interface Answer {
  readonly error_mm: readonly number[];
  readonly velocity_mm_s: readonly number[];
}

interface Case {
  readonly title: string;
  readonly set: Readonly<Record<string, number>>;
  readonly slope_ratio: number;
  readonly step_mm: number;
}

/** As fine as can be, and so no faster than the box has room for steps in a millisecond; no speed here comes near that. */
const FINE = { z_steps_per_mm: 5000, z_velocity_mm_s: 16 };
const CASES: readonly Case[] = [
  { title: 'the default gains, sheet up', set: {}, slope_ratio: 1, step_mm: STEP_MM },
  { title: 'the default gains, sheet down', set: {}, slope_ratio: 1, step_mm: -STEP_MM },
  { title: 'fine steps', set: FINE, slope_ratio: 1, step_mm: STEP_MM },
  { title: 'fine steps, true V/mm double', set: FINE, slope_ratio: 2, step_mm: -STEP_MM },
  { title: 'fine steps, true V/mm half', set: FINE, slope_ratio: 0.5, step_mm: STEP_MM },
  {
    title: 'fine steps, high gains, little smoothing',
    set: { ...FINE, gain_p_per_s: 45, gain_i_per_s2: 500, smoothing_ms: 2 },
    slope_ratio: 1,
    step_mm: STEP_MM,
  },
];

/** The module's own answer, in follow all the time. */
function measured(box: Readonly<Record<string, number>>, { slope_ratio, step_mm }: Case): Answer {
  const desk = new Desk(box, RC_MS, slope_ratio).follow();
  for (let tick = 0; tick < REST_TICKS; tick++) desk.tick();
  desk.sheet_mm = step_mm;
  const error_mm: number[] = [];
  const velocity_mm_s: number[] = [];
  for (let tick = 0; tick < TICKS; tick++) {
    desk.tick();
    if (desk.mode !== MODE_FOLLOW || desk.hold !== 0) throw new Error(`tick ${tick}: mode ${desk.mode}`);
    error_mm.push(desk.error_mm);
    velocity_mm_s.push(desk.velocity_mm_s);
  }
  return { error_mm, velocity_mm_s };
}

const largest = (a: readonly number[], b: readonly number[]) =>
  a.reduce((most, value, index) => Math.max(most, Math.abs(value - b[index])), 0);

describeAgainst(SCIPY, 'a step of the sheet under the closed loop', (python) => {
  const boxes = CASES.map(({ set }) => ({ ...DESK_BOX, ...set }));
  const expected = askPython<Answer[]>(
    python,
    'step_response.py',
    CASES.map(({ slope_ratio, step_mm }, index) => ({
      box: boxes[index],
      rc_ms: RC_MS,
      slope_ratio,
      step_mm,
      ticks: TICKS,
    })),
  );

  it.each(CASES.map((one, index) => [one.title, index] as const))(
    'is followed tick by tick as scipy says: %s',
    (_, index) => {
      const box = boxes[index];
      const one = CASES[index];
      const answer = measured(box, one);
      // The emitted Z lies within a step of the commanded one, the reference of the reading within a count, and
      // the loop started from rest within a step: 1.2 µm of 200 µm with fine steps. One tick of delay more or
      // less would be 4 µm.
      const within_mm = 2 / box.z_steps_per_mm + COUNT_MM;
      expect(largest(answer.error_mm, expected[index].error_mm)).toBeLessThan(within_mm);
      const within_mm_s = 1.5 * box.gain_p_per_s * within_mm;
      expect(largest(answer.velocity_mm_s, expected[index].velocity_mm_s)).toBeLessThan(within_mm_s);
    },
  );
});
