import { stripVTControlCharacters } from 'node:util';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { drawFrame, ViewHistory } from '../../../sim/views/terminal/index.js';
import {
  atCorner,
  faulted,
  following,
  type MadeRow,
  madeHistory,
  piercing,
  play,
  SCENE,
  stateOf,
} from './made-trace.js';

const UNICODE = { unicode: true, colour: false };
const ASCII = { unicode: false, colour: false };
const COLOUR = { unicode: true, colour: true };

function historyOf(ticks: number, row: (tick: number) => MadeRow): ViewHistory {
  const history = new ViewHistory(SCENE);
  play(history, ticks, row);
  return history;
}

function frameText(history: ViewHistory, columns = 80, rows = 24, style = UNICODE): string {
  return drawFrame(stateOf(history), { columns, rows }, style).join('\n');
}

describe('a frame fits the terminal', () => {
  const histories = [
    new ViewHistory(SCENE),
    madeHistory(),
    historyOf(300, piercing),
    historyOf(400, (tick) => (tick < 300 ? following(tick) : faulted(tick))),
    historyOf(50, (tick) => following(tick, 300)),
  ];

  it('has exactly the asked rows and columns at every size, in every style, in every state', () => {
    fc.assert(
      fc.property(
        fc.constantFrom(...histories),
        fc.integer({ min: 1, max: 260 }),
        fc.integer({ min: 1, max: 90 }),
        fc.constantFrom(UNICODE, ASCII, COLOUR),
        fc.boolean(),
        (history, columns, rows, style, paused) => {
          const lines = drawFrame(stateOf(history, paused), { columns, rows }, style);
          expect(lines).toHaveLength(rows);
          for (const line of lines) expect([...stripVTControlCharacters(line)]).toHaveLength(columns);
        },
      ),
      { numRuns: 300 },
    );
  });

  it('has only printable ASCII bytes when unicode is off', () => {
    for (const history of histories)
      for (const [columns, rows] of [
        [80, 24],
        [40, 12],
        [200, 60],
      ])
        expect(frameText(history, columns, rows, ASCII)).toMatch(/^[\n\x20-\x7e]*$/);
  });

  it('uses no escape without colour, and ends every coloured line in the plain state', () => {
    const control = '\x1b';
    expect(frameText(madeHistory())).not.toContain(control);
    const lines = drawFrame(stateOf(historyOf(9, atCorner)), { columns: 80, rows: 24 }, COLOUR);
    const coloured = lines.filter((line) => line.includes(control));
    expect(coloured.length).toBeGreaterThan(5);
    for (const line of coloured) expect(line.lastIndexOf(`${control}[0m`)).toBe(line.lastIndexOf(control));
  });

  it('becomes a line of status under 40 x 12', () => {
    const lines = drawFrame(stateOf(madeHistory()), { columns: 39, rows: 12 }, UNICODE);
    expect(lines[0].trim()).toBe('Following: standoff 1.50 mm, target 1.…');
    expect(lines.slice(1).join('').trim()).toBe('');
  });
});

describe('a frame says', () => {
  it('what happens, in a sentence with the standoff and its target', () => {
    expect(frameText(historyOf(200, (tick) => following(tick, 1.52)))).toContain(
      'Following: standoff 1.52 mm, target 1.50.',
    );
  });

  it('why the regulator has let go', () => {
    const text = frameText(historyOf(200, atCorner));
    expect(text).toContain('Holding (corner): standoff 1.43 mm, target 1.50.');
    expect(text).toContain('Hold: the feed has fallen');
  });

  it('what a fault means and what to look at, whole even at 60 columns', () => {
    for (const columns of [60, 80, 120]) {
      const text = frameText(
        historyOf(400, (tick) => (tick < 300 ? following(tick) : faulted(tick))),
        columns,
      );
      const words = text.replace(/\s+/g, ' ');
      expect(words).toContain('Fault arc-lost: the arc went out during the cut.');
      expect(words).toContain('Look for too high a feed, too high a torch, a worn electrode');
    }
  });

  it('where in the program it is, how far, and how long it takes', () => {
    const text = frameText(madeHistory());
    expect(text).toContain('hinge-plates.nc  contour 2 of 7, line 41');
    expect(text).toContain('0:02.9 simulated, 1× real time');
    expect(text).toContain('38 %, 0:42 left');
  });

  it('each output as a word', () => {
    const cutting = frameText(madeHistory());
    expect(cutting).toMatch(/trigger +ON/);
    expect(cutting).toMatch(/permit +GIVEN/);
    expect(cutting).toMatch(/stop +intact/);
    const after = frameText(historyOf(100, faulted));
    expect(after).toMatch(/trigger +off/);
    expect(after).toMatch(/permit +withheld/);
    expect(frameText(historyOf(100, (tick) => ({ ...following(tick), digital_inputs: 3 })))).toMatch(
      /stop +CHAIN OPEN/,
    );
    expect(frameText(historyOf(100, (tick) => ({ ...following(tick), digital_outputs: 4 })))).toMatch(/stop +LATCHED/);
  });

  it('the units of its axes and the scale of heights', () => {
    const text = frameText(madeHistory());
    expect(text).toMatch(/mm ─ sheet and torch in section/);
    expect(text).toMatch(/heights ×\d+\.\d/);
    expect(text).toMatch(/ V ─ arc 118\.4, target 118\.0/);
    expect(text).toContain('last 3 s');
    expect(text).toContain('0 mm');
  });

  it('by name when and for how long the regulator has let go', () => {
    // 500 ms of a 3 s strip over 48 columns are 8 columns; the name is filled up to them.
    expect(frameText(madeHistory())).toMatch(/hold ·+corner==·+/);
  });

  it('what to look into when the torch has been too low, and nothing of the kind when it was not', () => {
    const dived = historyOf(400, (tick) => (tick < 200 ? following(tick) : atCorner(tick, 1.1)));
    expect(frameText(dived)).toContain('Lowest 1.10 mm at a corner, line 41: see corner_fraction');
    expect(frameText(madeHistory()).replace(/\s+/g, ' ')).not.toContain('corner_fraction');
  });

  it('never that anything is safe', () => {
    for (const row of [following, atCorner, faulted, piercing])
      expect(frameText(historyOf(50, row)).toLowerCase()).not.toContain('safe');
  });

  it('which keys do what, other ones while it is paused', () => {
    const history = madeHistory();
    expect(frameText(history)).toContain('space pause');
    const paused = drawFrame(stateOf(history, true), { columns: 80, rows: 24 }, UNICODE);
    expect(paused[0]).toContain('PAUSED');
    expect(paused[23]).toContain('space resume  s 1 ms  → 10 ms  q quit');
  });
});
