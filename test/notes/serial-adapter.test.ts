/** The drawing of the serial adapter against the pin rows: who sends goes to who receives, and nothing crosses the barrier. */
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { PIN_ROWS } from '../../firmware/ports/rp2040/board-rows.js';
import { ROOT } from '../architecture/files.js';

const drawing = readFileSync(join(ROOT, 'hardware-notes/serial-adapter.svg'), 'utf8');

interface Wire {
  readonly from: string;
  readonly to: string;
  readonly x1: number;
  readonly x2: number;
}

/** Each line with its two ends, and each without names. */
function linesOf(svg: string) {
  const lines = [...svg.matchAll(/<line\s([^>]*?)\/>/g)].map(([, text]) => {
    const word = (name: string) => new RegExp(`${name}="([^"]*)"`).exec(text)?.[1] ?? '';
    return { from: word('data-from'), to: word('data-to'), x1: Number(word('x1')), x2: Number(word('x2')) };
  });
  return { wires: lines.filter(({ from }) => from !== ''), others: lines.filter(({ from }) => from === '') };
}

const gpio = (name: string) => `GPIO${PIN_ROWS.find((row) => row.name === name)!.gpio} ${name}`;

/** What is wrong with a drawing of the adapter. */
function wiringErrors(svg: string): string[] {
  const { wires, others } = linesOf(svg);
  const barrier = others.find(({ x1, x2 }) => x1 === x2 && svg.includes(`x1="${x1}" y1="70"`))?.x1 ?? Number.NaN;
  const has = (from: string, to: string) => wires.some((wire) => wire.from === from && wire.to === to);
  const crosses = ({ x1, x2 }: Pick<Wire, 'x1' | 'x2'>) => !(Math.max(x1, x2) < barrier || Math.min(x1, x2) >= barrier);
  const wanted = [
    [gpio('LINK_TX'), 'adapter RX'],
    ['adapter TX', gpio('LINK_RX')],
    ['board 0 V', 'adapter 0 V'],
    ['board 3.3 V', 'adapter 3.3 V'],
  ] as const;
  return [
    ...wanted.filter(([from, to]) => !has(from, to)).map(([from, to]) => `no wire from ${from} to ${to}`),
    ...(wires.length === wanted.length ? [] : [`${wires.length} wires`]),
    ...[...wires, ...others]
      .filter((line) => line.x1 !== line.x2 && crosses(line))
      .map(({ from }) => `${from} crosses`),
    ...['never 5 V', '3.3 V or 0 V', 'barrier', 'desk only'].filter((words) => !svg.includes(words)),
  ];
}

describe('the drawing of the serial adapter', () => {
  it('has each wire of the pin rows, crossed, and none across the barrier', () => {
    expect(wiringErrors(drawing)).toEqual([]);
  });

  it.each([
    ['TX at TX', (svg: string) => svg.replace('data-to="adapter RX"', 'data-to="adapter TX"')],
    ['another pin', (svg: string) => svg.replace('data-from="GPIO0 LINK_TX"', 'data-from="GPIO2 LINK_TX"')],
    ['no 0 V', (svg: string) => svg.replace(/<line data-from="board 0 V".*\n/, '')],
    ['a wire across the barrier', (svg: string) => svg.replace('x2="468" y2="258"', 'x2="668" y2="258"')],
    ['no word about 5 V', (svg: string) => svg.replace('never 5 V', '')],
  ])('would not pass with %s', (_what, change) => {
    expect(change(drawing)).not.toBe(drawing);
    expect(wiringErrors(change(drawing))).not.toEqual([]);
  });
});
