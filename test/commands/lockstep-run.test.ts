import { describe, expect, it } from 'vitest';
import * as wire from '../../firmware/wire/layout.gen.js';
import { resultWords } from '../../sim/commands/box/lockstep.js';
import { Session } from '../../sim/link/index.js';
import { cutLeg, type LockstepResult, randomLeg, runLockstep } from '../../sim/run/box/lockstep.js';
import { loadControlModule, WasmController } from '../../sim/run/controller/index.js';
import type { FakeModule } from '../link/fake-app.js';
import { FakeBox } from '../link/fake-box.js';
import { FakeLine, type FakeLineOptions } from '../link/fake-line.js';
import { delivered } from '../link/flashing.js';
import { folderWith, standoff } from './command.js';
import { FakePort } from './fake-port.js';

const module = loadControlModule();

interface Defect {
  /** Tick whose output is changed, counted from the box's beginning, and the byte of it. */
  readonly at_tick?: number;
  readonly byte?: number;
  /** Parameter that is refused. */
  readonly refuses?: number;
}

/** The desk's module inside the box; with a defect if a test wants one. */
function boxModule({ at_tick = -1, byte = 0, refuses = -9 }: Defect = {}): FakeModule {
  const controller = new WasmController(module);
  let ticks = 0;
  return {
    tick(input) {
      controller.inputs = input;
      controller.tick();
      const { buffer, byteOffset } = controller.output.integers;
      const output = new Uint8Array(buffer, byteOffset, wire.OUTPUT_BYTES).slice();
      if (ticks++ === at_tick) output[byte] ^= 4;
      return output;
    },
    setParameter(id, value) {
      if (id === refuses) return wire.SET_RANGE;
      if (id < 0) {
        // As the box: power-up clears what the pins said.
        new Uint8Array(controller.readings.buffer, controller.readings.byteOffset, wire.INPUT_BYTES).fill(0);
        controller.powerUp();
        return wire.SET_DONE;
      }
      return controller.setParameter(id, value);
    },
  };
}

/** Faults of a line that drops every so-many-th piece. */
const dropping = (every: number): ((bytes: Uint8Array) => Uint8Array[]) => {
  let count = 0;
  return (bytes) => (++count % every === 0 ? [] : [bytes]);
};

async function run(ticks: number, defect: Defect = {}, faults: FakeLineOptions = {}, random = false) {
  const box = new FakeBox({ module: boxModule(defect) });
  const line = new FakeLine(box, faults);
  const session = new Session(line, { answer_ms: 20, tries: 8, ping_ms: 1000, lost_ms: 5000 });
  const result: LockstepResult = await runLockstep(session, {
    ticks,
    leg: (index) => (random ? randomLeg : cutLeg)(module, 1 + index),
  });
  await session.close();
  return { result, box };
}

describe('lockstep over the link', () => {
  it.each([
    ['a simulated cut', false],
    ['arbitrary inputs', true],
  ])('finds all ticks the same where both run the same module: %s', async (_, random) => {
    const { result, box } = await run(3001, {}, {}, random);
    expect(result).toMatchObject({ ticks: 3001, difference: undefined });
    expect(result.elapsed_s).toBeGreaterThan(0);
    expect(box.asked.filter((service) => service === 'lockstep-begin')).toHaveLength(1);
    expect(box.asked.at(-1)).toBe('lockstep-end');
  });

  it.each([0, 1, 2, 3, 4, 1000, 2003])('finds the one tick, %i, in which one bit differs', async (at_tick) => {
    const { result } = await run(3000, { at_tick, byte: wire.OUTPUT_TARGET_V + 1 });
    expect(result).toMatchObject({ ticks: at_tick, difference: { tick: at_tick, field: 'target_V' } });
    expect(result.difference!.box).not.toBe(result.difference!.desk);
  });

  it('does not take a lost request or a lost answer for a difference', async () => {
    for (const faults of [{ toBox: dropping(17) }, { fromBox: dropping(13) }]) {
      const { result } = await run(400, {}, faults);
      expect(result).toMatchObject({ ticks: 400, difference: undefined });
    }
  });

  it('goes on with another cut when one is over', async () => {
    const ends: number[] = [];
    const leg = cutLeg(module, 1);
    for (let chunk = leg.next(1000); chunk.count > 0; chunk = leg.next(1000)) ends.push(chunk.count);
    const whole = ends.reduce((sum, count) => sum + count, 0);
    const { result, box } = await run(whole + 200);
    expect(result).toMatchObject({ ticks: whole + 200, difference: undefined });
    expect(box.asked.filter((service) => service === 'lockstep-begin')).toHaveLength(1);
  });

  it('calls a parameter that only one of them takes a difference', async () => {
    const { result } = await run(100, { refuses: 3 });
    expect(result).toMatchObject({
      ticks: 0,
      difference: { field: expect.stringContaining('set_parameter of spike_V') },
    });
  });

  it.each([
    [
      'the key was turned on',
      (box: FakeBox) => (box.app.key_on = true),
      'box-key',
      'the arm key was turned on in the middle',
    ],
    [
      'its power was gone',
      (box: FakeBox) => (box.app.tick = 40),
      'box-starting',
      'the box has started again in the middle',
    ],
  ])('says why a box has ended it: %s', async (_, happen, code, words) => {
    const box = new FakeBox({ module: boxModule() });
    const session = new Session(new FakeLine(box));
    const leg = cutLeg(module, 1);
    const next = leg.next.bind(leg);
    leg.next = (most) => {
      const ticks = next(most);
      box.app.in_lockstep = false;
      happen(box);
      return ticks;
    };
    await expect(runLockstep(session, { ticks: 2000, leg: () => leg })).rejects.toMatchObject({
      code,
      what: expect.stringContaining(words),
    });
    await session.close();
  });

  it('waits for a session before it that could not say good-bye', async () => {
    const box = new FakeBox({ module: boxModule() });
    box.app.in_lockstep = true;
    const ask = box.app.answer.bind(box.app);
    let refusals = 0;
    // The real box gives it up after two seconds of silence.
    box.app.answer = (service, payload) => {
      if (service === 'lockstep-begin' && refusals++ === 0) return { status: 9 };
      return ask(service, payload);
    };
    const session = new Session(new FakeLine(box));
    const result = await runLockstep(session, { ticks: 20, leg: () => cutLeg(module, 1) });
    expect([result.ticks, refusals]).toEqual([20, 2]);
    await session.close();
  });
});

describe('standoff lockstep', () => {
  const folder = folderWith({});
  const at = async (defect: Defect = {}, prepare: (box: FakeBox) => void = () => {}) => {
    const box = delivered({ module: boxModule(defect) });
    prepare(box);
    return FakePort.open(box);
  };

  it('says how many ticks were the same, and how fast; exit status 0', async () => {
    const { address, box } = await at();
    const { status, stdout, stderr } = await standoff(folder, 'lockstep', '--port', address, '--ticks', '500');
    expect([status, stderr]).toEqual([0, '']);
    expect(stdout).toMatch(/^module in the box: /);
    expect(stdout).toMatch(
      /Tried: a simulated cut, seed 1\. Found: all 500 ticks the same, byte for byte; \d+ ticks\/s/,
    );
    expect(box.baud).toBe(115200);
  });

  it('says where box and desk part, with both values; exit status 1', async () => {
    const { address } = await at({ at_tick: 123, byte: wire.OUTPUT_MODE });
    const { status, stdout } = await standoff(folder, 'lockstep', '--port', address, '--ticks', '500');
    expect(status).toBe(1);
    expect(stdout).toContain(
      'box and desk DIFFER, first in tick 123 (123 the same before it), in mode: box 4 (pierce), desk 0 (rest)',
    );
  });

  it('refuses with the key on, and says what to do; exit status 2', async () => {
    const { address } = await at({}, ({ app }) => {
      app.key_on = true;
    });
    const { status, stderr } = await standoff(folder, 'lockstep', '--port', address);
    expect(status).toBe(2);
    expect(stderr).toContain('the arm key is on');
  });

  it('refuses numbers that make no sense', async () => {
    for (const ticks of ['0', 'many', '1.5']) {
      const { status, stderr } = await standoff(folder, 'lockstep', '--port', 'tcp://x:1', '--ticks', ticks);
      expect(status).toBe(2);
      expect(stderr).toContain('from 1 to');
    }
  });
});

describe('the words for a result', () => {
  it('never call a difference anything else', () => {
    const words = resultWords(
      { ticks: 7, elapsed_s: 1, difference: { tick: 7, field: 'mode', box: '1 (seek)', desk: '0 (rest)' } },
      'arbitrary inputs',
      3,
      921600,
    );
    expect(words).toContain('DIFFER');
    expect(words).not.toContain('all');
  });
});
