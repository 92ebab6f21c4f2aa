import { describe, expect, it } from 'vitest';
import { REFUSAL_NONE, REFUSAL_NOT_HOMED, REFUSAL_REQUEST_HELD } from '../../firmware/wire/codes.gen.js';
import { INPUT_KEY, INPUT_REQUEST, INPUT_STOP_CHAIN, OUTPUT_PERMIT } from '../../firmware/wire/layout.gen.js';
import type { FaultFigures, RunEnd, RunStop } from '../../sim/judge/index.js';
import { judge } from './judge.js';
import { type MadeRow, MadeRun } from './made-cut.js';

const READY = INPUT_KEY | INPUT_STOP_CHAIN;
const WAITING: MadeRow = { digital_inputs: READY | INPUT_REQUEST, refusal: REFUSAL_NONE, contour: 3 };

function stopOf(run: MadeRun, ended: RunEnd['ended'], faults: readonly FaultFigures[] = []): RunStop | null {
  const judged = judge(run.rows);
  const end = { ended, reason: 'the reason of the loop', line: 7, ticks: run.rows.length };
  return judged.verdict(end, { ...judged.figures.figures(), faults }, []).stop;
}

const fault = (name: string, contour: number): FaultFigures => ({
  tick: 100 * contour,
  code: 1,
  name,
  measured_V: 0,
  contour,
  line: 10 + contour,
});

describe('who stopped a run', () => {
  it('is the clock, where it took far too long', () => {
    expect(stopOf(new MadeRun().add(10, WAITING), 'limit')).toEqual({
      by: 'time',
      cause: 'time-limit',
      why: 'the reason of the loop',
      contour: 3,
      line: 7,
      at_s: 0.01,
    });
  });

  it('is the first fault of the last contour that has one: what follows it is its consequence', () => {
    const faults = [fault('one', 0), fault('two', 2), fault('three', 2)];
    expect(stopOf(new MadeRun().add(10, WAITING), 'stopped', faults)).toMatchObject({
      cause: 'two',
      contour: 2,
      line: 12,
      at_s: 0.2,
    });
  });

  it.each([
    ['box', 'not-homed', REFUSAL_NOT_HOMED],
    ['operator', 'request-held', REFUSAL_REQUEST_HELD],
    ['box', 'no-permit', REFUSAL_NONE],
  ] as const)('is the %s where the box says %s', (by, cause, refusal) => {
    expect(stopOf(new MadeRun().add(10, { ...WAITING, refusal }), 'stopped')).toMatchObject({ by, cause });
  });

  it('is the key where the permit went with it and the table brakes, not where that was the end of another contour', () => {
    const cut = { ...WAITING, digital_outputs: OUTPUT_PERMIT };
    const braking = (ticks: number) =>
      new MadeRun()
        .add(10, cut)
        .add(1, { ...WAITING, digital_inputs: INPUT_STOP_CHAIN | INPUT_REQUEST, digital_outputs: 0 })
        .add(ticks, { ...WAITING, digital_outputs: 0, refusal: REFUSAL_NOT_HOMED });
    expect(stopOf(braking(2000), 'stopped')).toMatchObject({ by: 'operator', cause: 'key' });
    expect(stopOf(braking(8000), 'stopped')).toMatchObject({ by: 'box', cause: 'not-homed' });
  });

  it('is not the table that takes its request off after it waited in vain', () => {
    const run = (off: number) =>
      new MadeRun()
        .add(10, { ...WAITING, refusal: REFUSAL_NOT_HOMED })
        .add(off, { ...WAITING, digital_inputs: READY, refusal: REFUSAL_NOT_HOMED });
    expect(stopOf(run(1), 'stopped')).toMatchObject({ by: 'box', cause: 'not-homed' });
    expect(stopOf(run(3000), 'stopped')).toMatchObject({ by: 'operator', cause: 'request' });
  });
});
