import { describe, expect, it } from 'vitest';
import { CaseRunner, SHORT_CUTS } from '../../sim/campaign/case-runner.js';
import { rangesAround } from '../../sim/campaign/ranges.js';
import { defaultSetup } from '../../sim/run/setup/index.js';
import { TraceHash } from '../../sim/run/trace/index.js';

const setup = defaultSetup();
const newRunner = () => new CaseRunner({ setup, ranges: rangesAround(setup), programs: SHORT_CUTS, seed: 11 });

function outcome(runner: CaseRunner, index: number) {
  const hash = new TraceHash();
  return [runner.judge(index, undefined, [hash]), hash.hex()];
}

describe('the cuts of one worker', () => {
  it('come to the same, tick by tick, whatever was cut before them with the same instance', () => {
    const used = newRunner();
    for (let index = 0; index < 12; index++) expect(outcome(used, index)).toEqual(outcome(newRunner(), index));
  });
});
