/** Lockstep with the box on the PC's board: the module in the box against the one in this process. */
import { expect, it } from 'vitest';
import * as wire from '../../firmware/wire/layout.gen.js';
import { EVENT_ROWS, PAYLOAD_MOST } from '../../firmware/wire/link-rows.js';
import { Random } from '../../sim/base/index.js';
import { loadControlModule, WasmController } from '../../sim/run/controller/index.js';
import { describeAgainst } from '../reference/support.js';
import { buildBox } from './box-native.js';
import { type BoxReport, BoxScript } from './box-script.js';
import { GCC } from './loader-native.js';

const QUIET = wire.INPUT_STOP_CHAIN | wire.INPUT_BREAKAWAY | wire.INPUT_TOP;
const TICKS_EACH = Math.floor(PAYLOAD_MOST / wire.OUTPUT_BYTES);
const FRAMES = 400;
const POWER_UP = -2;
const LOCKSTEP = EVENT_ROWS.find(({ name }) => name === 'lockstep')!.code;

/** Input blocks with lines that flip and readings without sense, and what the module in this process answers. */
function drawn(frames: number): { readonly inputs: Uint8Array[][]; readonly outputs: Uint8Array[][] } {
  const random = new Random(11);
  const module = new WasmController(loadControlModule());
  const outputs: Uint8Array[][] = [];
  const inputs = Array.from({ length: frames }, () => {
    const answers: Uint8Array[] = [];
    const blocks = Array.from({ length: TICKS_EACH }, () => {
      if (random.chance(0.02)) module.digital_inputs = random.next_u32() & 0xdff;
      if (random.chance(0.02)) module.digital_inputs = QUIET | wire.INPUT_KEY | wire.INPUT_REQUEST;
      if (random.chance(0.02)) module.reference = random.chance(0.6) ? 2048 : random.next_u32() & 4095;
      module.x_steps = Math.floor(random.between(-9, 9));
      for (let k = 0; k < module.readings.length; k++) {
        module.readings[k] = Math.floor(random.between(100, 2500));
      }
      const block = module.inputs.slice();
      module.tick();
      const { buffer, byteOffset } = module.output.integers;
      answers.push(new Uint8Array(buffer, byteOffset, wire.OUTPUT_BYTES).slice());
      return block;
    });
    outputs.push(answers);
    return blocks;
  });
  return { inputs, outputs };
}

const hexOf = (blocks: readonly Uint8Array[]): string[] => blocks.map((block) => Buffer.from(block).toString('hex'));
const blocksIn = (report: BoxReport | undefined): string[] =>
  hexOf(report!.answers[0].records.map(({ block }) => block as Uint8Array));

const begin = (): { readonly script: BoxScript; readonly begun: number } => {
  const script = new BoxScript().say(`digital_inputs ${QUIET}`);
  script.run(40);
  return { script, begun: script.ask('lockstep-begin') };
};
/** The frame of four ticks with this number. */
const ticks = (script: BoxScript, blocks: readonly Uint8Array[], frame: number): number =>
  script.ask(
    'lockstep-ticks',
    { first: frame * TICKS_EACH },
    blocks.map((block) => ({ block })),
  );

describeAgainst(GCC, 'lockstep with the box', (gcc) => {
  const program = buildBox(gcc);

  it(`gives the outputs of the module in this process, byte for byte, over ${FRAMES * TICKS_EACH} ticks`, () => {
    const { inputs, outputs } = drawn(FRAMES);
    const { script, begun } = begin();
    const asked = inputs.map((blocks, frame) => ticks(script, blocks, frame));
    const reports = script.play(program);
    expect(reports[begun].answers[0].status).toBe('done');
    expect(asked.map((index) => blocksIn(reports[index]))).toEqual(outputs.map(hexOf));
    // The cut that the host pretends moves nothing here.
    for (const index of asked)
      expect(reports[index]).toMatchObject({ digital_outputs: 0, trigger_edges: 0, z_steps: 0 });
  });

  it('answers ticks that come again as the first time, also the last but three frames, and does not tick again', () => {
    const { inputs, outputs } = drawn(6);
    const { script } = begin();
    for (let frame = 0; frame < 5; frame++) ticks(script, inputs[frame], frame);
    const again = [4, 1].map((frame) => ticks(script, inputs[frame], frame));
    const next = ticks(script, inputs[5], 5);
    const reports = script.play(program);
    expect(again.map((index) => blocksIn(reports[index]))).toEqual([hexOf(outputs[4]), hexOf(outputs[1])]);
    expect(blocksIn(reports[next])).toEqual(hexOf(outputs[5]));
  });

  it('refuses ticks behind a gap and ticks whose outputs are forgotten', () => {
    const { inputs, outputs } = drawn(8);
    const { script } = begin();
    for (let frame = 0; frame < 7; frame++) ticks(script, inputs[frame], frame);
    const refused = [8, 0].map((frame) => ticks(script, inputs[0], frame));
    const next = ticks(script, inputs[7], 7);
    const reports = script.play(program);
    for (const index of refused) expect(reports[index].answers[0]).toMatchObject({ status: 'place', records: [] });
    expect(blocksIn(reports[next])).toEqual(hexOf(outputs[7]));
  });

  it('goes on from power-up when told so, and begins from it again', () => {
    const { inputs, outputs } = drawn(2);
    const { script } = begin();
    ticks(script, inputs[1], 0);
    const told = script.ask('lockstep-parameter', { id: POWER_UP, value: 0 });
    const first = ticks(script, inputs[0], 1);
    ticks(script, inputs[1], 2);
    script.ask('lockstep-begin');
    const again = ticks(script, inputs[0], 0);
    const reports = script.play(program);
    expect(reports[told].answers[0].values.answer).toBe(wire.SET_DONE);
    for (const index of [first, again]) expect(blocksIn(reports[index])).toEqual(hexOf(outputs[0]));
  });

  it('sets parameters of the host’s module alone', () => {
    const { script } = begin();
    const set = script.ask('lockstep-parameter', { id: 2, value: 60 });
    const refused = script.ask('lockstep-parameter', { id: 2, value: 1e9 });
    const stage = script.ask('parameters-stage', {}, [{ id: 2, spare: 0, value: 60 }]);
    script.ask('lockstep-end');
    const read = script.ask('parameters-read', { first: 2, count: 1 });
    const reports = script.play(program);
    expect(reports[set].answers[0].values.answer).toBe(wire.SET_DONE);
    expect(reports[refused].answers[0].values.answer).toBe(wire.SET_RANGE);
    expect(reports[stage].answers[0].status).toBe('lockstep');
    expect(reports[read].answers[0].records[0].value).toBe(50);
  });

  it.each([
    ['the key goes on', (script: BoxScript) => script.say(`digital_inputs ${QUIET | wire.INPUT_KEY}`).run(3)],
    ['nothing was asked for two seconds', (script: BoxScript) => script.run(2010)],
    ['the host says so', (script: BoxScript) => script.ask('lockstep-end')],
  ])('ends when %s', (_, end) => {
    const { inputs } = drawn(1);
    const { script } = begin();
    end(script);
    const asked = ticks(script, inputs[0], 0);
    const events = script.ask('events-read', { first: 0, count: 40 });
    const reports = script.play(program);
    expect(reports[asked].answers[0].status).toBe('not-begun');
    const changes = reports[events].answers[0].records.filter(({ kind }) => kind === LOCKSTEP);
    expect(changes.map(({ detail }) => detail)).toEqual([1, 0]);
  });

  it.each([
    ['voltage at the tap, as of a hand on the torch’s trigger', 'readings 1500', 600, wire.OUTPUT_LATCHED_STOP],
    ['a late tick', `digital_inputs ${QUIET | wire.INPUT_OVERRUN}`, 0, 0],
  ])('ends at a fault of the module at the pins, which works as ever: %s', (_, real, after_ms, latched) => {
    const { inputs } = drawn(8);
    const { script } = begin();
    for (let done = 0; done < after_ms; done += 100) script.run(100);
    const before = ticks(script, inputs[0], 0);
    script.say(real);
    const faulted = script.run(60);
    const asked = ticks(script, inputs[1], 1);
    const again = script.ask('lockstep-begin');
    const events = script.ask('events-read', { first: 0, count: 40 });
    const reports = script.play(program);
    expect(reports[before].answers[0].status).toBe('done');
    expect(reports[faulted].digital_outputs).toBe(latched);
    expect(reports[asked].answers[0].status).toBe('not-begun');
    expect(reports[again].answers[0].status).toBe('busy');
    // Nor does the end of lockstep forget it.
    expect(reports[again].digital_outputs).toBe(latched);
    const changes = reports[events].answers[0].records.filter(({ kind }) => kind === LOCKSTEP);
    expect(changes.map(({ detail }) => detail)).toEqual([1, 0]);
  });

  it('ends with a power-up of the module at the pins: it must be homed again, a key that was turned meanwhile counts for nothing', () => {
    const { script } = begin();
    script.say(`digital_inputs ${QUIET & ~wire.INPUT_TOP}`);
    script.ask('lockstep-end');
    const told = script.ask('telemetry', { every_ms: 1 }, [], 60);
    const reports = script.play(program);
    const last = reports[told].answers.findLast(({ service }) => service === 'telemetry-row')!.values;
    expect((last.flags as number) & wire.FLAG_HOMED).toBe(0);
    expect(last.mode).toBe(0);
  });

  it('does not power up over voltage that is about to become a fault', () => {
    const { script } = begin();
    for (let done = 0; done < 600; done += 100) script.run(100);
    script.say('readings 1500');
    const early = script.run(12);
    script.ask('lockstep-end');
    const soon = script.run(25);
    const reports = script.play(program);
    expect([reports[early].digital_outputs, reports[soon].digital_outputs]).toEqual([0, wire.OUTPUT_LATCHED_STOP]);
  });

  it('lasts while ticks come, however long', () => {
    const { inputs } = drawn(4);
    const { script } = begin();
    const asked = inputs.map((blocks, frame) => {
      script.run(900);
      return ticks(script, blocks, frame);
    });
    const reports = script.play(program);
    for (const index of asked) expect(reports[index].answers[0].status).toBe('done');
  });
});
