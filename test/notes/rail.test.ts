/** What sensing.md says of a converter whose reference is the 3.3 V rail. */
import { expect, it } from 'vitest';
import { defaultSetup } from '../../sim/run/setup/index.js';
import { expectPagePart, markdownTable } from '../support/page-part.js';

const ARC_V = 118;
const SLOPE_V_PER_mm = 4;

/** Counts of both channels and the volts that the box makes of the first, with the rail off by this share. */
function read(off: number) {
  const { divider, converter } = defaultSetup().machine;
  const { reference_V, bits, zero_counts } = converter;
  const codes = 2 ** bits;
  const rail_V = reference_V * (1 + off);
  const zero_V = (zero_counts * reference_V) / codes;
  const counts = ((ARC_V / divider.ratio + zero_V) / rail_V) * codes;
  const half = (rail_V / 2 / rail_V) * codes;
  return { half, arc_V: ((counts - zero_counts) * reference_V * divider.ratio) / codes };
}

it('the second channel reads the same whatever the rail is, and the first does not', () => {
  for (const off of [-0.1, -0.01, 0, 0.01, 0.1]) expect(read(off).half).toBe(2048);
  expect(read(0).arc_V).toBeCloseTo(ARC_V, 9);
  const rows = [0.001, 0.01, 0.02].map((off) => {
    const low_V = ARC_V - read(off).arc_V;
    expect(low_V).toBeGreaterThan(ARC_V * off);
    return [`${100 * off} %`, `${low_V.toFixed(2)} V low`, `${(low_V / SLOPE_V_PER_mm).toFixed(2)} mm`];
  });
  expectPagePart('sensing.md', 'rail', markdownTable(['rail high by', 'reads', 'at an assumed 4 V/mm'], rows));
});
