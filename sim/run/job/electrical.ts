import { placeText, StandoffError } from '../../base/index.js';
import { type Calibration, type ElectricalMachine, type Pair, tapOf, type Use } from '../../electrical/index.js';
import type { Row } from '../../world/plant/index.js';
import { assignValues, quantityAt, type Setup } from '../setup/index.js';

/** Where a setup and the electrical arithmetic meet: what the one gives to the other, and what it gets back. */

/** What a divider is to be designed for: target, arc window, slope and gain of the box, ripple of the world. */
export function useOf({ box, world }: Setup): Use {
  return {
    target_V: box.target_V,
    highest_V: box.arc_high_V,
    slope_V_per_mm: box.arc_slope_V_per_mm,
    loop_per_s: box.gain_p_per_s,
    inverter_kHz: world.noise.inverter_kHz,
  };
}

/**
 * A setup with another divider in it. Until it is calibrated, the box reads by the nominal values of the parts.
 * @param machine gives the divider; the rest of the machine section stays
 */
export function withDivider(setup: Setup, machine: Pick<ElectricalMachine, 'divider'>): Setup {
  const fitted = asParts({
    ...setup,
    machine: { ...setup.machine, divider: { ...setup.machine.divider, ...machine.divider } },
  });
  const { divider, converter } = fitted.machine;
  const gain_mV = (divider.ratio * converter.reference_V * 1000) / 2 ** converter.bits;
  const reading = { reading_gain_mV: digits(gain_mV, 4), reading_zero_counts: converter.zero_counts };
  return { ...fitted, box: { ...fitted.box, ...reading } };
}

/**
 * A setup whose ratio and time constant are what its parts make them: four and three digits, which is more than the
 * parts' tolerances give.
 */
export function asParts(setup: Setup): Setup {
  const { ratio, rc_ms } = tapOf(setup.machine);
  const divider = { ...setup.machine.divider, ratio: digits(ratio, 4), rc_ms: digits(rc_ms, 3) };
  return { ...setup, machine: { ...setup.machine, divider } };
}

/** A setup whose box reads by a calibration. @throws StandoffError `set-range` when the box cannot store it */
export function withCalibration(setup: Setup, { gain_mV, zero_counts }: Calibration): Setup {
  return assignValues(setup, [
    `reading_gain_mV=${gain_mV.toFixed(3)}`,
    `reading_zero_counts=${Math.max(0, zero_counts).toFixed(2)}`,
  ]);
}

const digits = (value: number, count: number): number => Number(value.toPrecision(count));

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
