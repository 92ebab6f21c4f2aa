import { describe, expect, it } from 'vitest';
import { MODE_FOLLOW, MODE_HOLD } from '../../../firmware/wire/codes.gen.js';
import * as wire from '../../../firmware/wire/layout.gen.js';
import { PARAMETER_ROWS } from '../../../firmware/wire/parameter-rows.js';
import { cutLeg, type DeskLeg, firstDifference, randomLeg } from '../../../sim/run/box/lockstep.js';
import { loadControlModule, WasmController } from '../../../sim/run/controller/index.js';

const module = loadControlModule();

/** A box that gets the same bytes: defaults, power-up, parameters, then input block after input block. */
function replay(leg: DeskLeg, ticks: number): { readonly box: Uint8Array; readonly desk: Uint8Array } {
  const controller = new WasmController(module);
  controller.powerUp();
  for (const { id, name } of PARAMETER_ROWS) controller.setParameter(id, leg.box[name]);
  const box: Uint8Array[] = [];
  const desk: Uint8Array[] = [];
  for (let done = 0; done < ticks; ) {
    const { count, inputs, outputs } = leg.next(ticks - done);
    if (count === 0) break;
    for (let tick = 0; tick < count; tick++) {
      controller.inputs = inputs.subarray(tick * wire.INPUT_BYTES, (tick + 1) * wire.INPUT_BYTES);
      controller.tick();
      const { buffer, byteOffset } = controller.output.integers;
      box.push(new Uint8Array(buffer, byteOffset, wire.OUTPUT_BYTES).slice());
    }
    desk.push(outputs);
    done += count;
  }
  return { box: Buffer.concat(box), desk: Buffer.concat(desk) };
}

const fieldOf = (block: Uint8Array, tick: number, at: number) =>
  new DataView(block.buffer, block.byteOffset + tick * wire.OUTPUT_BYTES + at).getInt32(0, true);

describe('the desk’s side of lockstep', () => {
  it.each([
    ['a simulated cut', cutLeg, 6000],
    ['arbitrary inputs', randomLeg, 6000],
  ])('%s: another module that gets the same bytes gives the same bytes', (_, legOf, ticks) => {
    const { box, desk } = replay(legOf(module, 3), ticks);
    expect(desk.length).toBe(ticks * wire.OUTPUT_BYTES);
    expect(firstDifference(box, desk)).toBeUndefined();
  });

  it('a simulated cut goes through follow and hold, and ends', () => {
    const leg = cutLeg(module, 1);
    const modes = new Set<number>();
    let ticks = 0;
    for (let chunk = leg.next(1e6); chunk.count > 0; chunk = leg.next(1e6)) {
      for (let tick = 0; tick < chunk.count; tick++) modes.add(fieldOf(chunk.outputs, tick, wire.OUTPUT_MODE));
      ticks += chunk.count;
    }
    expect(modes).toContain(MODE_FOLLOW);
    expect(modes).toContain(MODE_HOLD);
    expect(ticks).toBeGreaterThan(30_000);
  });

  it('is the same for the same seed, and another for another', () => {
    for (const legOf of [cutLeg, randomLeg]) {
      const inputs = (seed: number) => Buffer.from(legOf(module, seed).next(1000).inputs).toString('hex');
      expect(inputs(1)).toBe(inputs(1));
      expect(inputs(1)).not.toBe(inputs(2));
    }
  });
});

describe('the first difference', () => {
  const blocks = new Uint8Array(3 * wire.OUTPUT_BYTES);

  it('is told with its tick, its field and both values, in words where there are some', () => {
    const other = blocks.slice();
    new DataView(other.buffer).setInt32(wire.OUTPUT_BYTES + wire.OUTPUT_MODE, 7, true);
    new DataView(other.buffer).setInt32(2 * wire.OUTPUT_BYTES, -3, true);
    expect(firstDifference(other, blocks)).toEqual({ tick: 1, field: 'mode', box: '7 (follow)', desk: '0 (rest)' });
  });

  it('of one bit of a real is told with its bits', () => {
    const other = blocks.slice();
    other[2 * wire.OUTPUT_BYTES + wire.OUTPUT_MEASURED_V] = 1;
    expect(firstDifference(other, blocks)).toMatchObject({
      tick: 2,
      field: 'measured_V',
      box: expect.stringContaining('(0x00000001)'),
      desk: '0 (0x00000000)',
    });
  });

  it('is found at any byte of any tick', () => {
    for (let at = 0; at < blocks.length; at++) {
      const other = blocks.slice();
      other[at] = 0x80;
      const found = firstDifference(other, blocks);
      expect(found?.tick).toBe(Math.floor(at / wire.OUTPUT_BYTES));
      expect(found?.box).not.toBe(found?.desk);
    }
  });

  it('is also a tick that was not answered', () => {
    expect(firstDifference(blocks.subarray(0, wire.OUTPUT_BYTES), blocks)).toMatchObject({ tick: 1, box: '1 ticks' });
  });
});
