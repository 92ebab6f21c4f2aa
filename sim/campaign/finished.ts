// How many sound cuts came to their end, by what makes an arc hard to prove: a strike that the box refuses is no broken
// requirement, but the part is not cut.
import { z } from 'zod';
import type { WorldConfig } from '../world/plant/index.js';

const count = z.number().int().min(0);
const bandSchema = z.strictObject({
  /** Without a fault and without an operator's action. */
  cuts: count,
  unfinished: count,
  /** Those of them that ended with an arc that was not proved. */
  refused: count,
});

/** By the ends of its band: `2-3 V/mm, 0.4-0.8 V`. */
export const finishedSchema = z.record(z.string(), bandSchema);
export type Finished = z.infer<typeof finishedSchema>;

/** Ends of the bands: slope of the arc, V/mm; white noise, V rms a tick. The last ones have no upper end. */
const SLOPE_ENDS = [0, 3, 4, 6];
const NOISE_ENDS = [0, 0.4, 0.8];
/** Faults by which the box refuses a strike. */
const REFUSALS: readonly string[] = ['no-arc', 'no-response'];

const bandText = (ends: readonly number[], at: number) =>
  at + 1 < ends.length ? `${ends[at]}-${ends[at + 1]}` : `${ends[at]}-`;
const bandOf = (ends: readonly number[], value: number) =>
  bandText(
    ends,
    ends.findLastIndex((end) => value >= end),
  );
const keyOf = (slope: string, noise: string) => `${slope} V/mm, ${noise} V`;

/** Takes one sound cut in. */
export function addFinished(
  finished: Finished,
  { arc, noise }: WorldConfig,
  ended: string,
  faults: readonly string[],
): void {
  const key = keyOf(bandOf(SLOPE_ENDS, arc.slope_V_per_mm), bandOf(NOISE_ENDS, noise.white_V_rms_per_tick));
  const band = bandIn(finished, key);
  band.cuts++;
  if (ended === 'finished') return;
  band.unfinished++;
  if (faults.some((name) => REFUSALS.includes(name))) band.refused++;
}

function bandIn(finished: Finished, key: string) {
  finished[key] ??= { cuts: 0, unfinished: 0, refused: 0 };
  return finished[key];
}

export function joinFinished(sum: Finished, part: Finished): void {
  for (const [key, { cuts, unfinished, refused }] of Object.entries(part)) {
    const band = bandIn(sum, key);
    band.cuts += cuts;
    band.unfinished += unfinished;
    band.refused += refused;
  }
}

/** All cuts together. */
export function finishedTotal(finished: Finished) {
  const total: Finished = {};
  for (const band of Object.values(finished)) joinFinished(total, { all: band });
  return bandIn(total, 'all');
}

/** Rows by slope, columns by noise: `refused of cuts`, empty where nothing was cut. */
export function finishedTable(finished: Finished) {
  const noises = NOISE_ENDS.map((_, at) => bandText(NOISE_ENDS, at));
  const rows = SLOPE_ENDS.map((_, at) => bandText(SLOPE_ENDS, at)).map((slope) => [
    slope,
    ...noises.map((noise) => {
      const band = finished[keyOf(slope, noise)];
      return band === undefined ? '' : `${band.refused} of ${band.cuts}`;
    }),
  ]);
  return { noises, rows };
}
