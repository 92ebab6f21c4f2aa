import { stripVTControlCharacters } from 'node:util';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  FAULT_ARC_LOST,
  HOLD_CORNER,
  MODE_FAULT,
  MODE_FOLLOW,
  MODE_HOLD,
  MODE_PIERCE,
  MODE_REST,
  MODE_SEEK,
  REFUSAL_KEY,
} from '../../../firmware/wire/codes.gen.js';
import {
  FLAG_ARC_OK,
  INPUT_KEY,
  INPUT_REQUEST,
  INPUT_STOP_CHAIN,
  OUTPUT_TRIGGER,
  OUTPUT_Z_OWNED,
} from '../../../firmware/wire/layout.gen.js';
import { BOX_HEADINGS, COLUMN_ROWS, type ColumnName, newBlock } from '../../../sim/run/trace/index.js';
import { type BoxScene, drawFrame, ViewHistory } from '../../../sim/views/terminal/index.js';

const SCENE: BoxScene = {
  address: 'tcp://127.0.0.1:4040',
  cut_height_mm: 1.5,
  pierce_height_mm: 3,
  z_steps_per_mm: 400,
  trim_V: 0,
  tolerance_mm: 0.2,
};
const UNICODE = { unicode: true, colour: false };
const ASCII = { unicode: false, colour: false };
const LINK = { text: 'every tick; 3000 rows, no gap', tone: 0 };

type Row = Partial<Record<ColumnName, number>>;

/** Rows of a box, `every_ms` apart, as blocks of one row each. */
function historyOf(ticks: number, row: (tick: number) => Row, every_ms = 1, unknown = Number.NaN): ViewHistory {
  const history = new ViewHistory(SCENE);
  for (let tick = 0; tick < ticks; tick += every_ms) {
    const block = newBlock();
    block.first_tick = tick;
    block.count = 1;
    for (const { name, telemetry } of COLUMN_ROWS) if (!telemetry) block[name][0] = unknown;
    for (const [name, value] of Object.entries(row(tick))) block[name as ColumnName][0] = value;
    history.add(block);
  }
  return history;
}

const resting = (): Row => ({ mode: MODE_REST, digital_inputs: INPUT_STOP_CHAIN, refusal: REFUSAL_KEY });
const seeking = (tick: number): Row => ({
  mode: MODE_SEEK,
  digital_inputs: INPUT_STOP_CHAIN | INPUT_KEY | INPUT_REQUEST,
  digital_outputs: OUTPUT_Z_OWNED,
  z: -4 * tick,
});
const following = (tick: number, measured_error_mm = 0.02): Row => ({
  ...seeking(0),
  mode: MODE_FOLLOW,
  digital_outputs: OUTPUT_TRIGGER | OUTPUT_Z_OWNED,
  flags: FLAG_ARC_OK,
  z: -8000 + tick / 2,
  measured_V: 118.4,
  target_V: 118,
  measured_error_mm,
  measured_feed_mm_s: 50,
});
const holding = (tick: number): Row => ({ ...following(tick, 3), mode: MODE_HOLD, hold: HOLD_CORNER });
const faulted = (): Row => ({ ...resting(), mode: MODE_FAULT, fault: FAULT_ARC_LOST, digital_outputs: OUTPUT_Z_OWNED });
/** At rest, down to the sheet, along it, and into a corner. */
const cutting = (tick: number): Row => {
  if (tick < 200) return resting();
  if (tick < 700) return seeking(tick - 200);
  return tick < 2500 ? following(tick) : holding(tick);
};

const textOf = (history: ViewHistory, columns = 100, rows = 34, style = UNICODE, frozen = false) =>
  drawFrame({ history, progress: LINK, paused: frozen }, { columns, rows }, style).join('\n');
const wordsOf = (history: ViewHistory) => textOf(history).replace(/\s+/g, ' ');

describe('a frame of a watched box', () => {
  const histories = [
    new ViewHistory(SCENE),
    historyOf(300, resting),
    historyOf(900, (tick) => cutting(tick)),
    historyOf(3000, cutting, 8),
    historyOf(50, faulted),
  ];

  it('shows the trim that is in force, and none where there is none', () => {
    const history = new ViewHistory<BoxScene>({ ...SCENE, trim_V: 0.5 });
    const block = newBlock();
    block.count = 1;
    for (const [name, value] of Object.entries(following(0))) block[name as ColumnName][0] = value as number;
    history.add(block);
    expect(wordsOf(history)).toContain('arc 118.4, target 118.0, trim +0.50');
    expect(wordsOf(historyOf(900, (tick) => cutting(tick)))).not.toContain('trim');
  });

  it('has exactly the asked rows and columns at every size, in every style', () => {
    fc.assert(
      fc.property(
        fc.constantFrom(...histories),
        fc.integer({ min: 1, max: 200 }),
        fc.integer({ min: 1, max: 70 }),
        fc.constantFrom(UNICODE, ASCII, { unicode: true, colour: true }),
        fc.boolean(),
        (history, columns, rows, style, frozen) => {
          const lines = drawFrame({ history, progress: LINK, paused: frozen }, { columns, rows }, style);
          expect(lines).toHaveLength(rows);
          for (const line of lines) expect([...stripVTControlCharacters(line)]).toHaveLength(columns);
        },
      ),
      { numRuns: 200 },
    );
  });

  it('is the same whatever the columns hold that a box does not know', () => {
    for (const ticks of [150, 600, 1200, 2700]) {
      const frames = [Number.NaN, 0, 1, 77].map((unknown) => textOf(historyOf(ticks, cutting, 1, unknown)));
      expect(new Set(frames).size).toBe(1);
    }
  });

  it('changes with every column that it shows', () => {
    const before = textOf(historyOf(1200, cutting));
    const shown = [
      'measured_V',
      'target_V',
      'measured_error_mm',
      'measured_feed_mm_s',
      'z',
      'digital_inputs',
      'digital_outputs',
      'relay',
      'flags',
    ];
    expect(BOX_HEADINGS.map(({ column }) => column)).toEqual(expect.arrayContaining(shown));
    for (const column of shown) {
      const changed = (tick: number): Row => ({
        ...cutting(tick),
        ...(tick > 1000 && {
          [column]: column === 'measured_error_mm' ? -0.4 : ['digital_inputs', 'flags'].includes(column) ? 0 : 7,
        }),
      });
      expect(textOf(historyOf(1200, changed)), column).not.toBe(before);
    }
  });

  it('says at rest what would become of a torch request', () => {
    expect(wordsOf(historyOf(100, resting))).toContain('A torch request would be refused: the arm key is off');
    const ready = (): Row => ({ ...resting(), refusal: 0 });
    expect(wordsOf(historyOf(100, ready))).toContain('A torch request would start a cut.');
  });

  it('tells the standoff only while the regulator follows, and as what it is', () => {
    expect(wordsOf(historyOf(1200, cutting))).toContain('Following: standoff by voltage 1.52 mm, target 1.50');
    const held = wordsOf(historyOf(2700, cutting));
    expect(held).toContain('Holding (corner). Hold: the feed has fallen');
    expect(held).toContain('standoff - mm');
  });

  it('names the target alone where the box measures no standoff', () => {
    const piercing = (): Row => ({ ...following(0), mode: MODE_PIERCE });
    expect(wordsOf(historyOf(50, piercing))).toContain('Piercing: target standoff 3.00 mm.');
  });

  it('tells where Z is only while the box owns it', () => {
    expect(wordsOf(historyOf(600, cutting))).toContain('Touching off: Z 3.99 mm below where the box took it over.');
    expect(wordsOf(historyOf(100, resting))).toContain('Z - mm');
  });

  it('says what a fault means and what to look at', () => {
    const text = wordsOf(historyOf(50, faulted));
    expect(text).toContain('Fault arc-lost: the arc went out during the cut.');
    expect(text).toContain('Look for too high a feed');
  });

  it('counts the starts, and forgets the height of the sheet at each', () => {
    const history = historyOf(3600, (tick) => cutting(tick % 1800));
    expect(history.starts).toBe(2);
    const again = historyOf(1800 + 300, (tick) => cutting(tick % 1800));
    expect(again.now?.plate_mm).toBeNaN();
    expect(historyOf(1200, cutting).now?.plate_mm).toBeCloseTo(-7400 / 400 - 1.52, 4);
  });

  it('of every eighth tick shows the same path and time as of every tick', () => {
    const every = historyOf(2401, cutting);
    const eighth = historyOf(2401, cutting, 8);
    expect(eighth.now?.path_mm).toBeCloseTo(every.now!.path_mm, -1);
    expect(eighth.time.oldest).toBe(0);
    for (let bin = 200; bin < 480; bin++)
      expect(eighth.time.at('arc_low_V', bin)).toBeCloseTo(every.time.at('arc_low_V', bin), 3);
  });

  it('leaves rows that were lost as a hole, and the path does not jump', () => {
    const history = historyOf(1000, cutting);
    const before = history.now!.path_mm;
    const block = newBlock();
    Object.assign(block, { first_tick: 5000, count: 1 });
    for (const [name, value] of Object.entries(following(5000))) block[name as ColumnName][0] = value;
    history.add(block);
    expect(history.now!.path_mm - before).toBeCloseTo(0.05, 6);
    expect(history.time.at('arc_low_V', 600)).toBeNaN();
    expect(history.time.at('arc_low_V', 190)).toBeCloseTo(118.4, 3);
  });

  it('says how the link is, and that the picture stands still', () => {
    expect(textOf(historyOf(10, resting))).toContain(LINK.text);
    expect(textOf(historyOf(10, resting), 100, 34, UNICODE, true)).toContain('FROZEN at 0:00.0');
    expect(textOf(historyOf(10, resting), 30, 8)).toContain('every tick');
  });

  it('has only printable ASCII bytes when unicode is off', () => {
    for (const history of histories) expect(textOf(history, 80, 24, ASCII)).toMatch(/^[\n\x20-\x7e]*$/);
  });
});
