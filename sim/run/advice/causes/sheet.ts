import { steepestSheet } from '../../../world/plant/index.js';
import { fastestCut } from '../../job/index.js';
import { about, above, boxRemedy, type Case, quantity, type Remedy, repair, type Suspicion } from './suspicion.js';

/** Arm, sheet and feed. */
export const sheetAndFeed = (of: Case): Suspicion[] =>
  [arm, offcut, puddle, heat, drop, vibration, feedAboveTold, sheet, feed].flatMap((rule) => rule(of));

function arm({ setup }: Case): Suspicion[] {
  const { arm_Hz } = setup.machine.head;
  return above(
    arm_Hz,
    0,
    'arm',
    [
      `The arm of the torch swings at ${quantity(arm_Hz, 'Hz')} (machine.head.arm_Hz).`,
      'At the table the torch goes on nodding after a tap with the finger.',
    ],
    () => [
      repair(setup, 'Stiffen the arm or shorten it.', { 'machine.head.arm_Hz': 0 }),
      boxRemedy(setup, {
        z_acceleration_mm_s2: 0.4 * setup.box.z_acceleration_mm_s2,
        seek_fast_mm_s: 0.6 * setup.box.seek_fast_mm_s,
      }),
    ],
  );
}

function offcut({ setup }: Case): Suspicion[] {
  const { offcut_height_mm, offcut_x_mm, offcut_y_mm } = setup.world.sheet;
  return above(
    offcut_height_mm,
    0,
    'offcut',
    [
      `An offcut stands up by ${quantity(offcut_height_mm, 'mm')} at X${quantity(offcut_x_mm, '')} Y${quantity(offcut_y_mm, '')} (world.sheet.offcut_height_mm).`,
      'At the table a part that was cut free tips between the slats, and the torch runs into it.',
    ],
    () => [
      repair(
        setup,
        'Keep parts from tipping: leave tabs, cut in an order that comes back to no part, or take them out.',
        { 'world.sheet.offcut_height_mm': 0 },
      ),
    ],
  );
}

function puddle({ setup }: Case): Suspicion[] {
  const { puddle_mm } = setup.world.sheet;
  return above(
    puddle_mm,
    0.1,
    'puddle',
    [
      `The melt of a pierce heaps up by ${quantity(puddle_mm, 'mm')} where the cut begins (world.sheet.puddle_mm).`,
      'At the table there is a ring of dross about each pierce, and the torch touches it at cut height.',
    ],
    () => [
      repair(
        setup,
        'Pierce where nothing is kept, chip the dross off, or use an agent against spatter; a longer lead-in leaves the heap behind.',
        { 'world.sheet.puddle_mm': 0 },
      ),
    ],
  );
}

function heat({ setup }: Case): Suspicion[] {
  const { heat_growth_mm_per_s } = setup.world.sheet;
  return above(
    heat_growth_mm_per_s,
    0.1,
    'heat',
    [
      `The sheet rises by ${quantity(heat_growth_mm_per_s, 'mm')} in a second under the arc (world.sheet.heat_growth_mm_per_s).`,
      'At the table the sheet bulges while it is cut, and the touch-off of the next cut finds it higher.',
    ],
    () => [
      repair(setup, 'Clamp the sheet, let it cool between cuts, or cut parts that lie apart in turn.', {
        'world.sheet.heat_growth_mm_per_s': 0.02,
      }),
    ],
  );
}

function drop({ setup }: Case): Suspicion[] {
  const { drop_mm } = setup.world.sheet;
  return above(
    drop_mm,
    0.5,
    'drop',
    [
      `A part sinks by ${quantity(drop_mm, 'mm')} when it is cut free (world.sheet.drop_mm).`,
      'At the table the torch follows the part down in the last millimetres of a cut.',
    ],
    () => [repair(setup, 'Leave a tab, or end the cut where it began.', { 'world.sheet.drop_mm': 0 })],
  );
}

function vibration({ setup }: Case): Suspicion[] {
  const { vibration_mm, vibration_Hz } = setup.world.sheet;
  return above(
    vibration_mm,
    0.03,
    'vibration',
    [
      `The sheet vibrates by ±${quantity(vibration_mm, 'mm')} at ${quantity(vibration_Hz, 'Hz')} (world.sheet.vibration_mm).`,
      'At the table the sheet can be felt, and rings when the table turns a corner.',
    ],
    () => [
      repair(setup, 'Clamp the sheet down, or put slats under it where it spans too far.', {
        'world.sheet.vibration_mm': 0,
      }),
    ],
  );
}

/** Steeper than this a sheet does not lie on its slats, mm/mm. */
const STEEP = 0.11;

function sheet(of: Case): Suspicion[] {
  const { setup } = of;
  const { tilt_x, tilt_y, wave_mm, bow_mm, bump_mm } = setup.world.sheet;
  const steepest = steepestSheet(setup);
  const level = STEEP / 2 / steepest;
  const part = (value: number) => Number((value * level).toPrecision(3));
  const flat = {
    'world.sheet.tilt_x': part(tilt_x),
    'world.sheet.tilt_y': part(tilt_y),
    'world.sheet.wave_mm': part(wave_mm),
    'world.sheet.bow_mm': part(bow_mm),
    'world.sheet.bump_mm': part(bump_mm),
  };
  return above(
    steepest,
    STEEP,
    'sheet',
    [
      `The sheet is as steep as ${about(steepest, 'mm/mm')}: lean, waves, bow and bumps together (world.sheet).`,
      'At the table a straight edge laid on the sheet shows the gaps.',
    ],
    () => [
      repair(setup, `Level the sheet and clamp it, to ${quantity(STEEP / 2, 'mm/mm')} or less.`, flat),
      slower(of, 60),
      slower(of, 35),
    ],
  );
}

/** The fastest feed of a cut, as the table goes it, mm/s. */
const fastest_mm_s = ({ plan, setup }: Case): number =>
  Math.min(fastestCut(plan).feed_mm_s, setup.machine.table.rapid_mm_s);

/** The program at a part of the feed that it is cut at. */
export function slower(of: Case, percent: number): Remedy {
  const written = fastestCut(of.plan).feed_mm_s * 60;
  const feed = 60 * fastest_mm_s(of);
  const to = (feed * percent) / 100;
  const what = `Cut ${of.scenario.program.name} at ${quantity(to, 'mm/min')} at most, now ${quantity(feed, 'mm/min')}: all feeds times ${quantity(to / written, '')}.`;
  return {
    do: what,
    changes: [{ path: 'program.feed', from: 100, to: Number(((100 * to) / written).toPrecision(4)) }],
  };
}

const LAGS =
  'At the table the torch lags behind the sheet: too near on every slope that rises, too high where it falls.';

/** By so much the feed may be above that for which the arc was told. */
const ABOVE_TOLD = 1.5;

function feedAboveTold(of: Case): Suspicion[] {
  const feed_mm_s = fastest_mm_s(of);
  const told = of.setup.box.target_feed_mm_s;
  return above(
    feed_mm_s / told,
    ABOVE_TOLD,
    'feed',
    [
      `The feed is ${quantity(60 * feed_mm_s, 'mm/min')}; the arc was told for ${quantity(60 * told, 'mm/min')} (target_feed_mm_s).`,
      LAGS,
    ],
    () => [slower(of, Math.ceil((100 * told) / feed_mm_s)), slower(of, Math.ceil((60 * told) / feed_mm_s))],
  );
}

/** Z goes up and down faster than this over the sheet, mm/s: much for the regulator. */
const FAST_Z = 4;

function feed(of: Case): Suspicion[] {
  const feed_mm_s = fastest_mm_s(of);
  const rise_mm_s = feed_mm_s * steepestSheet(of.setup);
  return above(
    rise_mm_s,
    FAST_Z,
    'feed',
    [
      `At ${quantity(60 * feed_mm_s, 'mm/min')} the sheet rises and falls by up to ${about(rise_mm_s, 'mm/s')} under the torch.`,
      LAGS,
    ],
    () => [slower(of, 60), slower(of, 35), slower(of, 20)],
  );
}
