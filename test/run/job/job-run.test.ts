import { describe, expect, it } from 'vitest';
import { requirementContext } from '../../../sim/judge/index.js';
import { loadControlModule, WasmController } from '../../../sim/run/controller/index.js';
import { JobRun, jobOf, summaryOf, summarySchema } from '../../../sim/run/job/index.js';
import { run } from '../../../sim/run/loop/index.js';
import { defaultSetup, exampleSetup } from '../../../sim/run/setup/index.js';
import { TraceHash } from '../../../sim/run/trace/index.js';
import { refused } from '../setup/refused.js';

const module = loadControlModule();
const text = 'G21 G90 F3000\nG0 X50 Y100\nM3\nG1 X90\nM5\nG0 X50 Y120\nM3\nG1 X90\nM5\nG4 P1\nM2\n';
const program = { name: 'two.nc', text };
const scenario = { seed: 3, setup: exampleSetup(), program };

function finished(): JobRun {
  const made = new JobRun(jobOf(scenario), module);
  while (!made.finished) made.advance();
  return made;
}

describe('a job', () => {
  it('is refused before it runs when its program leaves the plate', () => {
    const wide = { ...program, text: text.replace('X90', 'X900') };
    expect(refused(() => jobOf({ ...scenario, program: wide })).code).toBe('program-off-sheet');
  });

  it('warns where the parts of the divider do not make its ratio', () => {
    const { machine, ...rest } = defaultSetup();
    const other = { ...machine, divider: { ...machine.divider, ratio: machine.divider.ratio * 1.1 } };
    const { warnings } = jobOf({ ...scenario, setup: { ...rest, machine: other } });
    expect(warnings).toContainEqual(expect.stringMatching(/^machine\.divider\.ratio is .* its parts make it/));
  });
});

describe('the run of a job', () => {
  it('is the run of its scenario to the tick', () => {
    const { trace_hash, job, outcome } = finished();
    const hash = new TraceHash();
    const { box, machine, world } = scenario.setup;
    const controller = new WasmController(module);
    const direct = run({ box, machine, world, plan: job.plan, seed: 3, controller }, [hash]);
    expect(trace_hash).toBe(hash.hex());
    expect(outcome).toEqual(direct);
  });

  it('knows each arc with the line that asks for it, as long in all as the figures say', () => {
    const { arcs, judge } = finished();
    expect(arcs.map(({ line }) => line)).toEqual([3, 7]);
    const total_s = arcs.reduce((sum, { from_s, to_s }) => sum + to_s - from_s, 0);
    // Both count ticks of 1 ms.
    expect(total_s).toBeCloseTo(judge.figures.figures().arc_on_s, 9);
  });

  it('says where it was broken off, and has a summary up to there', () => {
    const made = new JobRun(jobOf(scenario), module);
    made.advance();
    made.breakOff('someone had enough');
    expect(made.outcome).toMatchObject({ ended: 'interrupted', reason: 'someone had enough' });
    const summary = summarySchema.parse(summaryOf(made));
    expect(summary.outcome.simulated_s).toBeCloseTo(made.outcome.ticks / 1000, 9);
    expect(summary.advice).toEqual([]);
  });

  it('counts as finished when it is broken off after its end', () => {
    const made = finished();
    made.breakOff('too late');
    expect(made.outcome.ended).toBe('finished');
  });

  it('is judged against the relay of its machine', () => {
    const { context, job } = finished();
    const { box, machine } = job.scenario.setup;
    expect(context).toEqual(requirementContext(box, { relay_release_ms: machine.firing.relay_release_ms }));
  });
});
