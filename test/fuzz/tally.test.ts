import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { CaseRunner } from '../../sim/fuzz/case-runner.js';
import { SHORT_CUTS } from '../../sim/fuzz/programs.js';
import { rangesAround } from '../../sim/fuzz/ranges.js';
import {
  type CampaignRecord,
  mergeRecords,
  missingSpans,
  readRecord,
  type Span,
  shardSpan,
  writeRecord,
} from '../../sim/fuzz/record.js';
import { addTally, chanceBound, emptyTally } from '../../sim/fuzz/tally.js';
import { defaultSetup } from '../../sim/setup/index.js';
import { thrownBy } from '../support/thrown.js';

const setup = defaultSetup();
const campaign = { setup, ranges: rangesAround(setup), programs: SHORT_CUTS, seed: 5 };
const runner = new CaseRunner(campaign);
const RUNS = 12;

function recordOf(covered: Span[], changes: Partial<CampaignRecord> = {}): CampaignRecord {
  const tally = emptyTally();
  for (const [from, to] of covered) addTally(tally, runner.run(from, to));
  const hashes = { module_sha256: 'a', simulator_sha256: 'b' };
  return { format: 'standoff campaign 1', ...hashes, runs: RUNS, covered, campaign, tally, ...changes };
}
const merged = (...records: CampaignRecord[]) =>
  mergeRecords(records.map((record, index) => ({ file: `shard${index}.json`, record })));

describe('shards', () => {
  const whole = recordOf([[0, RUNS]]);

  it('merged in any order give byte for byte what one run gives', () => {
    const shards = [1, 2, 3].map((index) => recordOf([shardSpan(RUNS, index, 3)]));
    for (const order of [
      [0, 1, 2],
      [2, 0, 1],
      [1, 2, 0],
    ]) {
      expect(writeRecord(merged(...order.map((at) => shards[at]!)))).toBe(writeRecord(whole));
    }
  });

  it('cover every case once, however many there are', () => {
    fc.assert(
      fc.property(fc.integer({ min: 1, max: 500 }), fc.integer({ min: 1, max: 60 }), (runs, count) => {
        const spans = Array.from({ length: count }, (_, index) => shardSpan(runs, index + 1, count));
        expect(spans.reduce((sum, [from, to]) => sum + to - from, 0)).toBe(runs);
        expect(
          missingSpans(
            [0, runs],
            spans.filter(([from, to]) => to > from),
          ),
        ).toEqual([]);
      }),
    );
  });

  it('with a gap, an overlap or of two builds are refused, with the cases or the files named', () => {
    const gap = thrownBy(() => merged(recordOf([[0, 4]]), recordOf([[8, RUNS]])));
    expect([gap.code, gap.what]).toEqual(['campaign-gap', `cases 4 to 7 of ${RUNS} are in none of the files`]);
    const overlap = thrownBy(() => merged(recordOf([[0, 8]]), recordOf([[4, RUNS]])));
    expect([overlap.code, overlap.what]).toEqual(['campaign-overlap', 'cases 4 to 7 are in two of the files']);
    const other = recordOf([[4, RUNS]], { module_sha256: 'other' });
    const mixed = thrownBy(() => merged(recordOf([[0, 4]]), other));
    expect(mixed.code).toBe('campaign-mixed');
    expect(mixed.what).toContain('shard0.json and shard1.json do not belong together: other control modules');
    const seed = recordOf([[4, RUNS]], { campaign: { ...campaign, seed: 6 } });
    expect(thrownBy(() => merged(recordOf([[0, 4]]), seed)).what).toContain('other seeds');
  });

  it('are read back as they were written, and nothing else is read', () => {
    const text = writeRecord(whole);
    expect(writeRecord(readRecord(text, 'a.json'))).toBe(text);
    expect(thrownBy(() => readRecord('hello', 'a.json')).code).toBe('campaign-format');
    expect(thrownBy(() => readRecord('{"format":"standoff campaign 9"}', 'a.json')).code).toBe('campaign-version');
    expect(thrownBy(() => readRecord('null', 'a.json')).code).toBe('campaign-format');
  });
});

describe('a tally', () => {
  it('does not depend on the order of adding', () => {
    const parts = [runner.run(0, 3), runner.run(3, 5), runner.run(5, 9)];
    const sum = (order: number[]) => {
      const total = emptyTally();
      for (const at of order) addTally(total, parts[at]!);
      return writeRecord({ ...recordOf([]), tally: total });
    };
    expect(sum([2, 0, 1])).toBe(sum([0, 1, 2]));
  });

  it('bounds the chance of a failure by 1 − 0.05^(1/n)', () => {
    // The rule of three (Hanley & Lippman-Hand, JAMA 1983; memory): about 3/n.
    expect(chanceBound(1)).toBeCloseTo(0.95, 12);
    expect(chanceBound(300)).toBeCloseTo(0.00993, 4);
    expect(chanceBound(100_000) * 100_000).toBeCloseTo(2.9957, 3);
    expect(chanceBound(0)).toBe(1);
  });
});
