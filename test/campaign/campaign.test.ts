import { describe, expect, it } from 'vitest';
import { SHORT_CUTS } from '../../sim/campaign/case-runner.js';
import { runCampaign, writeRecord } from '../../sim/campaign/index.js';
import { mapAxis, runMap } from '../../sim/campaign/map.js';
import { rangesAround } from '../../sim/campaign/ranges.js';
import { defaultSetup } from '../../sim/run/setup/index.js';
import { amount } from '../support/volume.js';

const setup = defaultSetup();
/** Parts of 32 cuts: more than one, of which the last is not whole. */
const RUNS = amount(150, 70);
const campaign = { setup, ranges: rangesAround(setup), programs: SHORT_CUTS, seed: 9 };

// The threads load the compiled simulator: what ships is what is tested.
describe('a campaign on several threads', () => {
  it('gives byte for byte the same with one, two and five of them', async () => {
    const texts = [];
    for (const workers of [1, 2, 5]) {
      texts.push(writeRecord(await runCampaign({ campaign, runs: RUNS, span: [0, RUNS], workers })));
    }
    expect(texts[1]).toBe(texts[0]);
    expect(texts[2]).toBe(texts[0]);
  });

  it('broken off says what it covers, and going on gives what one run gives', async () => {
    const stop = new AbortController();
    const options = { campaign, runs: RUNS, span: [0, RUNS] as const, workers: 1 };
    const part = await runCampaign({ ...options, signal: stop.signal, onProgress: () => stop.abort() });
    expect(part.covered).toEqual([[0, 32]]);
    const whole = await runCampaign({ ...options, workers: 2, before: part });
    expect(writeRecord(whole)).toBe(writeRecord(await runCampaign(options)));
  });

  it('tries other cases with another seed', async () => {
    const one = await runCampaign({ campaign, runs: 8, span: [0, 8], workers: 1 });
    const other = await runCampaign({ campaign: { ...campaign, seed: 10 }, runs: 8, span: [0, 8], workers: 1 });
    expect(other.tally.ticks).not.toBe(one.tally.ticks);
  });
});

describe('a map on several threads', () => {
  it('cuts the same cases in every cell: where an axis changes nothing, its cells are equal', async () => {
    // Learning is off in the default setup, so its band says nothing.
    const x = mapAxis('learn_band_V=5:25', campaign, 3);
    const y = mapAxis('gain_p_per_s=15:45', campaign, 3);
    const quiet = { ...campaign, ranges: { ...campaign.ranges, fault_chance: 0, operator_chance: 0 } };
    const map = (await runMap(quiet, x, y, 4, 2, () => {}))!;
    for (const row of map.cells) {
      expect(row[1]).toEqual(row[0]);
      expect(row[2]).toEqual(row[0]);
    }
    expect(map.cells[2][0].following_p999_mm).not.toBe(map.cells[0][0].following_p999_mm);
  });

  it('cuts nothing where two values contradict each other, and cuts the setup as it is too', async () => {
    const x = mapAxis('pierce_height_mm=1:4', campaign, 3);
    const y = mapAxis('cut_height_mm=1:4', campaign, 3);
    const quiet = { ...campaign, ranges: { ...campaign.ranges, fault_chance: 0, operator_chance: 0 } };
    const map = (await runMap(quiet, x, y, 1, 1, () => {}))!;
    expect(map.cells.map((row) => row.map((cell) => cell.cuts))).toEqual([
      [1, 1, 1],
      [0, 1, 1],
      [0, 0, 1],
    ]);
    expect(map.present).toMatchObject({ cuts: 1, kept: 1 });
  });

  it('cuts nothing with a target above the arc window', async () => {
    const x = mapAxis('arc_high_V=110:190', campaign, 2);
    const y = mapAxis('pierce_ms=400:500', campaign, 2);
    const map = (await runMap(campaign, x, y, 1, 1, () => {}))!;
    expect(map.cells.map((row) => row.map((cell) => cell.cuts))).toEqual([
      [0, 1],
      [0, 1],
    ]);
  });
});
