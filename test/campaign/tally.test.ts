import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { type Case, caseSetup } from '../../sim/campaign/case.js';
import { CaseRunner, SHORT_CUTS } from '../../sim/campaign/case-runner.js';
import { rangesAround } from '../../sim/campaign/ranges.js';
import {
  type CampaignRecord,
  mergeRecords,
  missingSpans,
  readRecord,
  type Span,
  shardSpan,
  writeRecord,
} from '../../sim/campaign/record.js';
import { addCase, addTally, chanceBound, emptyTally, type Tally, type Verdict } from '../../sim/campaign/tally.js';
import { defaultSetup } from '../../sim/run/setup/index.js';
import { thrownBy } from '../support/thrown.js';

const setup = defaultSetup();
const campaign = { setup, ranges: rangesAround(setup), programs: SHORT_CUTS, seed: 5 };
const runner = new CaseRunner(campaign);
const RUNS = 12;

function recordOf(covered: Span[], changes: Partial<CampaignRecord> = {}): CampaignRecord {
  const tally = emptyTally();
  for (const [from, to] of covered) addTally(tally, runner.run(from, to));
  const part: Span = [covered[0]?.[0] ?? 0, covered.at(-1)?.[1] ?? 0];
  const hashes = { module_sha256: 'a', simulator_sha256: 'b' };
  return { format: 'standoff campaign 6', ...hashes, runs: RUNS, part, covered, campaign, tally, ...changes };
}
const merged = (...records: CampaignRecord[]) =>
  mergeRecords(records.map((record, index) => ({ file: `shard${index}.json`, record })));

const addOne = (tally: Tally, index: number, one: Case, verdict: Verdict) =>
  addCase(tally, index, one, caseSetup(setup, one), verdict);

describe('contact where no box could have kept the tip from the sheet', () => {
  const one = { ...runner.caseOf(0), faults: [{ kind: 'unpowered-axis', at_s: 5 }] } as const;
  const judged = runner.judge(0, { ...runner.caseOf(0), faults: [], operator: [] });
  const with_margin = (margin: number) => ({
    ...judged,
    requirements: judged.requirements.map((requirement) =>
      requirement.name === 'no-contact' ? { ...requirement, margin, kept: margin >= 0 } : requirement,
    ),
  });

  it('is counted apart, and a near miss of it is none of this box', () => {
    const tally = emptyTally();
    addOne(tally, 0, one, with_margin(-0.05));
    addOne(tally, 1, one, with_margin(0.01));
    expect(tally.requirements['no-contact']).toMatchObject({ tested: 0, broken: 0, beyond: 1, worst_margin: null });
    addOne(tally, 2, { ...one, faults: [], operator: [] }, with_margin(0.3));
    expect(tally.requirements['no-contact']).toMatchObject({ tested: 1, beyond: 1, worst_margin: 0.3, worst_case: 2 });
  });
});

describe('shards', () => {
  const whole = recordOf([[0, RUNS]]);

  it('count every cut that stopped once, by who stopped it and why', () => {
    const { ended, stops, cases } = whole.tally;
    expect(ended.stopped).toBeGreaterThan(0);
    expect(ended.finished + ended.stopped).toBe(cases);
    expect(Object.values(stops).reduce((sum, cuts) => sum + cuts, 0)).toBe(ended.stopped);
    for (const key of Object.keys(stops)) expect(key).toMatch(/^(box|operator|time) [a-z-]+$/);
  });

  it('merged in any order give byte for byte what one run gives', () => {
    const shards = [1, 2, 3].map((index) => recordOf([shardSpan(RUNS, index, 3)]));
    for (const order of [
      [0, 1, 2],
      [2, 0, 1],
      [1, 2, 0],
    ]) {
      expect(writeRecord(merged(...order.map((at) => shards[at])))).toBe(writeRecord(whole));
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

  it('of which some have no cuts, because there are more shards than cuts, merge all the same', () => {
    const shards = Array.from({ length: 20 }, (_, at) => {
      const part = shardSpan(RUNS, at + 1, 20);
      return recordOf(part[0] < part[1] ? [part] : [], { part });
    });
    expect(writeRecord(merged(...shards))).toBe(writeRecord(whole));
  });

  const refused = (...records: CampaignRecord[]) => {
    const { code, what, remedy } = thrownBy(() => merged(...records));
    return [code, `${what}: ${remedy}`] as const;
  };

  it('with a gap are refused, with the cuts named', () => {
    const [code, said] = refused(recordOf([[0, 4]]), recordOf([[5, 8]]));
    expect(code).toBe('campaign-gap');
    expect(said).toContain('cuts 4, 8 to 11 of 12 are in none of the files');
  });

  it('that overlap are refused, with the cuts and both files named', () => {
    const [code, said] = refused(recordOf([[0, 8]]), recordOf([[4, RUNS]]));
    expect(code).toBe('campaign-overlap');
    expect(said).toContain('cuts 4 to 7 are in shard0.json and in shard1.json as well');
  });

  it('of which one was broken off are refused, with the command that finishes it', () => {
    const [code, said] = refused(recordOf([[0, 4]]), recordOf([[4, 6]], { part: [4, RUNS] }));
    expect(code).toBe('campaign-unfinished');
    expect(said).toContain('shard1.json was broken off: cuts 6 to 11 are missing');
    expect(said).toContain('standoff fuzz --out shard1.json --resume');
  });

  it.each([
    ['the control module', { module_sha256: 'other' }],
    ['the build of Standoff', { simulator_sha256: 'other' }],
    ['the number of cuts (12 and 13)', { runs: 13 }],
    ['the seed (5 and 6)', { campaign: { ...campaign, seed: 6 } }],
    ['the programs', { campaign: { ...campaign, programs: SHORT_CUTS.slice(1) } }],
    ['the ranges', { campaign: { ...campaign, ranges: { ...campaign.ranges, fault_chance: 0 } } }],
    ['the setup', { campaign: { ...campaign, setup: { ...setup, box: { ...setup.box, gain_p_per_s: 1 } } } }],
  ] as const)('that differ in %s are refused, with both files named', (words, changes) => {
    const [code, said] = refused(recordOf([[0, 4]]), recordOf([[4, RUNS]], changes));
    expect(code).toBe('campaign-mixed');
    expect(said).toContain(`shard0.json and shard1.json do not belong together: they differ in ${words}:`);
  });
});

describe('the file of a result', () => {
  const text = writeRecord(recordOf([[0, RUNS]]));
  const refusal = (content: string) => {
    const { code, what } = thrownBy(() => readRecord(content, 'a.json'));
    return [code, what];
  };

  it('is read back as it was written, and nothing else is read', () => {
    expect(writeRecord(readRecord(text, 'a.json'))).toBe(text);
    for (const other of ['hello', 'null', '[]', '{"format":"standoff scenario 1"}']) {
      expect(refusal(other)).toEqual(['campaign-format', 'a.json is no result of standoff fuzz']);
    }
  });

  it('of another version is refused, with what to do', () => {
    for (const version of [1, 2, 9]) {
      const old = text.replace('standoff campaign 6', `standoff campaign ${version}`);
      expect(thrownBy(() => readRecord(old, 'a.json'))).toMatchObject({
        code: 'campaign-version',
        what: `a.json has the format standoff campaign ${version}; this Standoff reads standoff campaign 6`,
        remedy: 'use the Standoff that wrote it, or run the campaign again',
      });
    }
  });

  it('is refused wherever it breaks off', () => {
    fc.assert(
      fc.property(fc.integer({ min: 0, max: text.length - 3 }), (length) => {
        expect(refusal(text.slice(0, length))[0]).toMatch(/^campaign-(damaged|format)$/);
      }),
    );
    expect(refusal(text.slice(0, 5000))).toEqual([
      'campaign-damaged',
      'a.json is damaged: it breaks off or is garbled',
    ]);
  });

  it.each([
    [
      'without its count of cuts',
      'tally.cases',
      (one: { tally: object }) => void Object.assign(one.tally, { cases: '12' }),
    ],
    ['with a cut too many', 'numbers of cuts', (one: { tally: { cases: number } }) => void one.tally.cases++],
    [
      'with cuts out of order',
      'numbers of cuts',
      (one: object) =>
        void Object.assign(one, {
          covered: [
            [6, 12],
            [0, 6],
          ],
        }),
    ],
    ['with cuts of another shard', 'numbers of cuts', (one: object) => void Object.assign(one, { part: [0, 6] })],
    ['with a part beyond the campaign', 'numbers of cuts', (one: object) => void Object.assign(one, { part: [0, 13] })],
  ] as const)('%s is damaged, and it says where', (_, words, change) => {
    const one = JSON.parse(text);
    change(one);
    const [code, what] = refusal(JSON.stringify(one));
    expect(code).toBe('campaign-damaged');
    expect(what).toContain(words);
  });
});

describe('a tally', () => {
  it('does not depend on the order of adding', () => {
    const parts = [runner.run(0, 3), runner.run(3, 5), runner.run(5, 9)];
    const sum = (order: number[]) => {
      const total = emptyTally();
      for (const at of order) addTally(total, parts[at]);
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
