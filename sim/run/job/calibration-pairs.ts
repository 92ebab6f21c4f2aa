import { placeText, StandoffError } from '../../base/index.js';
import type { Pair } from '../../electrical/index.js';
import type { Row } from '../../world/plant/index.js';
import { quantityAt } from '../setup/index.js';

const number = (path: string, unit: string, min: number, max: number, meaning: string): Row => ({
  path,
  kind: 'number',
  unit,
  min,
  max,
  default: 0,
  meaning,
});
const METER = number('meter_V', 'V', -600, 600, 'what the meter shows at the leads, negative with the leads exchanged');
const COUNTS = number('counts', 'counts', 0, 65_535, 'mean reading of the box at the same time');

/**
 * A pair of the command line, `60.02=744.3`, with or without units.
 * @throws StandoffError `pair-form`, `option-…`
 */
export function readPair(text: string): Pair {
  const place = `--pair ${text}`;
  const [, volts, counts] = /^([^=]+)=([^=]+)$/.exec(text) ?? [];
  if (volts === undefined || counts === undefined) {
    throw new StandoffError('pair-form', `${place} is not volts=counts`, 'write --pair 60.02=744.3');
  }
  return { meter_V: quantityAt(place, METER, volts), counts: quantityAt(place, COUNTS, counts), place };
}

const HEAD = ['meter_V', 'counts'];

/**
 * Pairs of a text with a heading `meter_V,counts` and a pair a line; lines that begin with # are left out.
 * @throws StandoffError `pairs-…` with file, line and column
 */
export function readPairs(text: string, file: string): Pair[] {
  const lines = text
    .split(/\r?\n/)
    .map((content, index) => ({ content, line: index + 1 }))
    .filter(({ content }) => content.trim() !== '' && !content.trimStart().startsWith('#'));
  const [head, ...rest] = lines;
  if (!head) throw new StandoffError('pairs-empty', `the file ${file} has no pairs`, `start it with ${HEAD.join(',')}`);
  const names = head.content.split(',').map((name) => name.trim());
  if (names.join() !== HEAD.join()) {
    const place = placeText({ file, line: head.line, column: 1 });
    throw new StandoffError(
      'pairs-head',
      `${place}: the heading is ${names.join(',')}`,
      `it must be ${HEAD.join(',')}: volts and counts, in this order`,
    );
  }
  return rest.map(({ content, line }) => pairAt(content, file, line));
}

function pairAt(content: string, file: string, line: number): Pair {
  const cells = content.split(',');
  const at = (column: number) => placeText({ file, line, column });
  if (cells.length !== 2) {
    throw new StandoffError(
      'pairs-cells',
      `${at(1)}: ${cells.length} values`,
      'write volts, a comma, and counts; a point for the decimals',
    );
  }
  const [volts, counts] = cells as [string, string];
  return {
    meter_V: quantityAt(at(1), METER, volts),
    counts: quantityAt(at(volts.length + 2), COUNTS, counts),
    place: `${file}:${line}`,
  };
}
