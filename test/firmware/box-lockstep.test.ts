/** The box on the PC's board in lockstep with the desk: the same bytes, and each tick done once however often it is asked. */
import { expect, it } from 'vitest';
import { INPUT_BYTES, LINE_BREAKAWAY, LINE_KEY, LINE_STOP_CHAIN, OUTPUT_BYTES } from '../../firmware/wire/layout.js';
import { LOCKSTEP_KEPT, PAYLOAD_MOST } from '../../firmware/wire/link-rows.js';
import { PARAMETER_ROWS } from '../../firmware/wire/parameter-rows.js';
import { cutLeg, type DeskTicks } from '../../sim/cli/lockstep-desk.js';
import { loadControlModule } from '../../sim/controller/index.js';
import { describeAgainst } from '../reference/support.js';
import { buildBox } from './box-native.js';
import { type BoxReport, BoxScript } from './box-script.js';
import { GCC } from './loader-native.js';

const QUIET = LINE_STOP_CHAIN | LINE_BREAKAWAY;
const TICKS = 800;
const A_REQUEST = Math.floor(PAYLOAD_MOST / OUTPUT_BYTES);

const leg = cutLeg(loadControlModule(), 1);
const desk: DeskTicks = leg.next(TICKS);

/** A script that has begun lockstep, both modules alike. */
function begun(): BoxScript {
  const script = new BoxScript().say(`lines ${QUIET}`);
  script.run(20);
  script.ask('lockstep-begin');
  for (const id of [-1, -2]) script.ask('lockstep-parameter', { id, value: 0 });
  for (const { id, name } of PARAMETER_ROWS) script.ask('lockstep-parameter', { id, value: leg.box[name]! });
  return script;
}

const blocks = (first: number, count: number) =>
  Array.from({ length: count }, (_, k) => ({
    block: desk.inputs.subarray((first + k) * INPUT_BYTES, (first + k + 1) * INPUT_BYTES),
  }));
const askTicks = (script: BoxScript, first: number, count = A_REQUEST) =>
  script.ask('lockstep-ticks', { first }, blocks(first, count));

/** What the only answer of a report says: its outputs, or why not. */
function said(report: BoxReport | undefined): Buffer | string {
  expect(report?.answers).toHaveLength(1);
  const { status, records } = report!.answers[0]!;
  return status === 'done' ? Buffer.concat(records.map(({ block }) => block as Uint8Array)) : status;
}
const wanted = (first: number, count = A_REQUEST) =>
  Buffer.from(desk.outputs.subarray(first * OUTPUT_BYTES, (first + count) * OUTPUT_BYTES));

describeAgainst(GCC, 'a box in lockstep', (gcc) => {
  const program = buildBox(gcc);

  it(`gives the desk's outputs byte for byte in ${TICKS} ticks of a cut, its own outputs at rest`, () => {
    const script = begun();
    const asked = Array.from({ length: TICKS / A_REQUEST }, (_, n) => askTicks(script, n * A_REQUEST));
    const reports = script.play(program);
    for (const [n, index] of asked.entries()) expect(said(reports[index])).toEqual(wanted(n * A_REQUEST));
    expect(reports.at(-1)).toMatchObject({ drives: 0, trigger_edges: 0, z_steps: 0 });
  });

  it('does no tick twice: what was asked before is answered as before, then it goes on', () => {
    const script = begun();
    const first = askTicks(script, 0);
    const again = script.again();
    const overlapping = askTicks(script, 2);
    const ahead = [4, 8, 12, 16].map((place) => askTicks(script, place));
    const oldest = askTicks(script, 20 - LOCKSTEP_KEPT);
    const on = askTicks(script, 20);
    const reports = script.play(program);
    for (const index of [first, again]) expect(said(reports[index])).toEqual(wanted(0));
    expect(said(reports[overlapping])).toEqual(wanted(2));
    for (const [n, index] of ahead.entries()) expect(said(reports[index])).toEqual(wanted(4 + 4 * n));
    expect(said(reports[oldest])).toEqual(wanted(4));
    expect(said(reports[on])).toEqual(wanted(20));
  });

  it('refuses ticks that do not follow those before, and those that nobody can be waiting for', () => {
    const script = begun();
    const early = askTicks(script, 1);
    for (let first = 0; first < 2 * LOCKSTEP_KEPT; first += A_REQUEST) askTicks(script, first);
    const late = askTicks(script, LOCKSTEP_KEPT - 1);
    const lengths = [0, A_REQUEST + 1].map((count) => askTicks(script, 2 * LOCKSTEP_KEPT, count));
    const on = askTicks(script, 2 * LOCKSTEP_KEPT);
    const reports = script.play(program);
    expect(said(reports[early])).toBe('place');
    expect(said(reports[late])).toBe('place');
    for (const index of lengths) expect(said(reports[index])).toBe('length');
    expect(said(reports[on])).toEqual(wanted(2 * LOCKSTEP_KEPT));
  });

  it('counts from its beginning anew when it is begun again, and is over when the key goes on', () => {
    const script = begun();
    askTicks(script, 0);
    script.ask('lockstep-begin');
    for (const id of [-1, -2]) script.ask('lockstep-parameter', { id, value: 0 });
    for (const { id, name } of PARAMETER_ROWS) script.ask('lockstep-parameter', { id, value: leg.box[name]! });
    const anew = askTicks(script, 0);
    script.say(`lines ${QUIET | LINE_KEY}`);
    script.run(40);
    const over = askTicks(script, A_REQUEST);
    const reports = script.play(program);
    expect(said(reports[anew])).toEqual(wanted(0));
    expect(said(reports[over])).toBe('not-begun');
  });
});
