import { describe, expect, it } from 'vitest';
import {
  type Cell,
  centreOf,
  type GainMap,
  mapAxis,
  presentIsGood,
  regionOf,
  UNTRIED,
} from '../../sim/campaign/map.js';
import { rangesAround } from '../../sim/campaign/ranges.js';
import { defaultSetup } from '../../sim/run/setup/index.js';
import { thrownBy } from '../support/thrown.js';

const setup = defaultSetup();
const campaign = { setup, ranges: rangesAround(setup), programs: [], seed: 1 };

const cell = (error_mm: number, kept = 10, goals_met = 5): Cell => ({
  cuts: 10,
  kept,
  goals_met,
  stopped: 0,
  worst_margin: 0.1,
  worst_requirement: 'floor',
  worst_unit: 'mm',
  worst_case: 0,
  following_p999_mm: error_mm,
});

/** Rows from the top of the picture: `.` good, `~` follows badly, `g` misses its goals, `x` a requirement broken. */
function drawn(...rows: string[]): GainMap {
  const cells = rows
    .toReversed()
    .map((row) =>
      [...row].map((mark) =>
        mark === 'x' ? cell(0.1, 9) : mark === 'g' ? cell(0.1, 10, 4) : cell(mark === '~' ? 0.2 : 0.1),
      ),
    );
  const axis = (name: string, count: number) => ({
    name,
    unit: '',
    present: 1,
    least: 0,
    most: 100,
    logarithmic: false,
    values: Array.from({ length: count }, (_, at) => 10 * (at + 1)),
  });
  const [x, y] = [axis('gain_p_per_s', rows[0].length), axis('gain_i_per_s2', rows.length)];
  return { x, y, cells, programs: ['cut.nc'], present: cell(0.1) };
}

describe('the region of a map', () => {
  it('is where every requirement was kept and the standoff held nearly as well as anywhere', () => {
    expect(regionOf(drawn('.~x', '...'))).toEqual([
      [true, true, true],
      [true, false, false],
    ]);
  });

  it('has its centre farthest from every edge, and says how far each is and whether the map ends there', () => {
    const centre = centreOf(drawn('xxxxxxx', 'x.....x', 'x.....x', 'x.....x', '~.....~', 'x.....x'))!;
    expect([centre.x, centre.y]).toEqual([40, 30]);
    expect(centre.edges.left).toEqual({ distance: 20, open: false });
    expect(centre.edges.right).toEqual({ distance: 20, open: false });
    expect(centre.edges.lower).toEqual({ distance: 20, open: true });
    expect(centre.edges.upper).toEqual({ distance: 20, open: false });
    expect(centre.cells).toBe(25);
  });

  it('lies in the middle of a region that is too narrow to have an inside', () => {
    const centre = centreOf(drawn('xxxxx', '.....', 'xxxxx'))!;
    expect([centre.x, centre.y]).toEqual([30, 20]);
  });

  it('avoids a hole beside the middle', () => {
    const centre = centreOf(drawn('.......', '.......', '.......', '..x....', '.......', '.......', '.......'))!;
    expect(centre.x).toBeGreaterThan(40);
  });

  it('leaves out values that contradict each other, with which nothing was cut', () => {
    const map = drawn('...', '...');
    const cells = map.cells.map((row) => row.map((one, column) => (column === 0 ? UNTRIED : one)));
    expect(regionOf({ ...map, cells })).toEqual([
      [false, true, true],
      [false, true, true],
    ]);
  });

  it('tells whether the present values do as well', () => {
    expect(presentIsGood(drawn('...'))).toBe(true);
    expect(presentIsGood({ ...drawn('...'), present: cell(0.2) })).toBe(false);
    expect(presentIsGood({ ...drawn('...'), present: cell(0.1, 9) })).toBe(false);
  });

  it('is not there where fewer than half of the cuts met their goals, however equal they are', () => {
    expect(regionOf(drawn('g.', 'gg'))).toEqual([
      [false, false],
      [false, true],
    ]);
    const missed = drawn('ggg', 'ggg', 'ggg');
    expect(regionOf(missed).flat()).not.toContain(true);
    expect(centreOf(missed)).toBeUndefined();
    expect(presentIsGood({ ...missed, present: cell(0.1, 10, 4) })).toBe(false);
  });

  it('has no middle at an edge of the map, and one beside it as soon as the map goes on', () => {
    expect(centreOf(drawn('x..', 'x..'))).toBeUndefined();
    expect(centreOf(drawn('...', 'xxx', 'xxx'))).toBeUndefined();
    expect(centreOf(drawn('....', '....', 'xxxx'))).toMatchObject({ y: 20 });
  });

  it('is not there when some requirement is broken everywhere', () => {
    expect(centreOf(drawn('xx', 'xx'))).toBeUndefined();
  });
});

describe('an axis of a map', () => {
  it('goes from end to end in equal steps, for a gain by equal factors, or from a third to three times the present value', () => {
    expect(mapAxis('pierce_ms=100:300', campaign, 3).values).toEqual([100, 200, 300]);
    expect(mapAxis('gain_p_per_s=10:40', campaign, 3).values).toEqual([10, 20, 40]);
    expect(mapAxis('gain_d=0:1', campaign, 3).values).toEqual([0, 0.5, 1]);
    const axis = mapAxis('gain_p_per_s', campaign, 3);
    expect([axis.values[0], axis.values[2]]).toEqual([7.333, 66]);
  });

  it('has each whole value once where the box takes whole numbers only', () => {
    expect(mapAxis('supply_contact=0:1', campaign, 9).values).toEqual([0, 1]);
    expect(mapAxis('box.strike_retries=0:5', campaign, 3).values).toEqual([0, 3, 5]);
  });

  it.each([
    ['world.sheet.wave_mm=0:1', 'map-elsewhere', '--set'],
    ['gain_p', 'map-unknown', 'gain_p_per_s'],
    ['nothing_like_it', 'map-unknown', 'standoff schema'],
    ['gain_p_per_s=30:10', 'map-range', 'low:high within 0 to 100 1/s'],
    ['gain_p_per_s=10:1000', 'map-range', 'low:high within 0 to 100 1/s'],
    ['gain_p_per_s=10', 'map-range', 'low:high within 0 to 100 1/s'],
  ])('%s is refused with a remedy', (words, code, remedy) => {
    const error = thrownBy(() => mapAxis(words, campaign, 5));
    expect(error.code).toBe(code);
    expect(error.remedy).toContain(remedy);
  });
});
