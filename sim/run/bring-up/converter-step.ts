// The arithmetic of a ramp. Apart from the other steps: it is tried on readings alone, without a board.
import type { Values } from '../../link/index.js';
import { atBox, failed, notTried, passed, type StepContext, type StepResult } from './bench.js';
import { lostAmong, round, rowsFrom } from './time-steps.js';

const CODES = 4096;
/** Where this chip's converter has codes that are too wide (RP2040 data sheet, erratum E11; memory). */
const WIDE_AT = [512, 1536, 2560, 3584];
/** A wide code may lie so far from there; the codes that it is compared with lie further, up to AROUND. */
const NEAR = 4;
const AROUND = 40;
/** What the campaigns draw for converter.wide_counts, and what they assume as noise and more than that: 0.7 counts. */
const WIDE_MOST_counts = 9;
const NOISE_MOST_counts = 3;
/** Share of the codes within the ramp that may be missing. */
const MISSING_MOST = 0.05;
/** Readings a code that a judgement of single codes needs. */
const ENOUGH = 5;

/** What readings along a slow ramp say of a converter. */
interface RampFigures {
  /** Width of each code of WIDE_AT, counts, and the standard deviation of that. */
  readonly wide_counts: readonly number[];
  readonly deviation_counts: number;
  readonly noise_counts: number;
  /** Share of the codes between the lowest and the highest that never came; NaN where there are too few readings to say. */
  readonly missing: number;
  readonly least_counts: number;
  readonly most_counts: number;
}

/**
 * Judges a ramp.
 * @param readings one a millisecond, without a gap, of a voltage that moves slowly through the range again and again
 */
function rampFigures(readings: readonly number[]): RampFigures {
  const hits = new Uint32Array(CODES);
  for (const counts of readings) hits[counts]++;
  const [least_counts, most_counts] = [hits.findIndex((n) => n > 0), hits.findLastIndex((n) => n > 0)];
  const sum = (from: number, to: number) => hits.subarray(Math.max(0, from), to + 1).reduce((total, n) => total + n, 0);
  const widths = WIDE_AT.map((code) => {
    const around = sum(code - AROUND, code - NEAR - 1) + sum(code + NEAR + 1, code + AROUND);
    const mean = around / (2 * (AROUND - NEAR));
    // Noise makes the widest of nine a little wider than it is.
    const most = Math.max(...hits.subarray(code - NEAR, code + NEAR + 1));
    return { width: mean > 0 ? most / mean : Number.NaN, deviation: Math.sqrt(most) / mean };
  });
  const span = most_counts - least_counts + 1;
  const empty = hits.subarray(least_counts, most_counts + 1).filter((n) => n === 0).length;
  return {
    wide_counts: widths.map(({ width }) => width),
    deviation_counts: Math.max(...widths.map(({ deviation }) => deviation)),
    noise_counts: noiseOf(readings),
    missing: readings.length / span >= ENOUGH ? empty / span : Number.NaN,
    least_counts,
    most_counts,
  };
}

/** Second differences leave the ramp out; its corners, and the wide codes, are among the largest of them. */
function noiseOf(readings: readonly number[]): number {
  const squares = readings.slice(2).map((now, at) => (now - 2 * readings[at + 1] + readings[at]) ** 2);
  const kept = squares.sort((one, other) => one - other).slice(0, Math.floor(0.95 * squares.length));
  return Math.sqrt(kept.reduce((total, square) => total + square, 0) / kept.length / 6);
}

/** Each way of the ramp takes this long, s: four times 47 kohm and 100 µF. */
const SWEEP_s = 20;

/** A capacitor that is charged and discharged through a resistor, from end to end of the range, so often. */
export async function converterStep({ bench, count, tell }: StepContext): Promise<StepResult> {
  const rows: Values[] = [];
  for (let n = 1; n <= count; n++) {
    for (const from of ['3.3 V', '0 V'] as const) {
      if (!(await bench.deed({ kind: 'wires', wires: [{ from, to: 'ARC_VOLTAGE', rc: true }] })))
        return notTried('no ramp was wired');
      tell(`ramp ${n} of ${count} towards ${from}: ${SWEEP_s} s ...`);
      const swept = await atBox(bench, (session) => rowsFrom(bench, session, 1000 * SWEEP_s));
      const lost = lostAmong(swept);
      if (swept.length < 1000 * SWEEP_s || lost > 0) {
        const words = `${swept.length} rows came of ${1000 * SWEEP_s}, and ${lost} were lost between them`;
        return failed(words, { rows: swept.length, lost });
      }
      rows.push(...swept);
    }
  }
  await bench.deed({ kind: 'wires', wires: [] });
  return rampResult(rows.map(({ reading }) => reading as number));
}

/** What readings of a ramp say of the converter, held against what the campaigns try. */
export function rampResult(readings: readonly number[]): StepResult {
  const found = rampFigures(readings);
  const { wide_counts, deviation_counts, noise_counts, missing, least_counts, most_counts } = found;
  const figures = {
    readings: readings.length,
    least_counts,
    most_counts,
    noise_counts: round(noise_counts, 2),
    ...Object.fromEntries(WIDE_AT.map((code, at) => [`width_at_${code}_counts`, round(wide_counts[at], 1)])),
    width_deviation_counts: round(deviation_counts, 1),
    missing_share: Number.isNaN(missing) ? 'too few readings' : round(missing, 3),
  };
  const words =
    `codes ${least_counts} to ${most_counts}, ${readings.length} readings: widths near ${WIDE_AT.join(', ')}: ` +
    `${wide_counts.map((width) => width.toFixed(1)).join(', ')} counts, noise ${noise_counts.toFixed(2)} counts`;
  const [low, high] = [WIDE_AT[0] - AROUND, WIDE_AT[3] + AROUND];
  if (!(least_counts <= low && most_counts >= high))
    return failed(`${words}: the ramp does not reach from ${low} to ${high}`, figures);
  const widest = Math.max(...wide_counts);
  if (!(widest <= WIDE_MOST_counts + 2 * deviation_counts))
    return failed(`${words}; the campaigns try ${WIDE_MOST_counts} counts at most`, figures);
  if (!(noise_counts <= NOISE_MOST_counts))
    return failed(`${words}; at most ${NOISE_MOST_counts} counts of noise`, figures);
  if (missing > MISSING_MOST)
    return failed(`${words}; ${(100 * missing).toFixed(0)} % of the codes never came`, figures);
  return {
    ...passed(words, figures),
    machine: {
      'converter.noise_counts': round(noise_counts, 2),
      'converter.wide_counts': Math.min(32, Math.max(0, round(widest, 1))),
    },
  };
}
