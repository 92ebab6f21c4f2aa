/** The desk state of the shipped image on the emulated chip: random episodes at its pins, and the commands with a bare board. */
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { numberOf, TRIAL_NUMBER_ROWS } from '../../firmware/wire/number-rows.js';
import { Random } from '../../sim/base/index.js';
import { EmulatedBoard, LinkPort } from '../../sim/emulator/index.js';
import { encodeLayout } from '../../sim/link/index.js';
import { folderWith, standoff } from '../commands/command.js';
import { amount } from '../support/volume.js';
import { DeskBench } from './desk-episodes.js';
import { Emulation } from './emulation.js';
import { loadImage, loadLoader, variantImage } from './images.js';

describe('the desk state on the emulated chip', () => {
  it('moves no pin but to set the latched stop, whatever its wires do and a host asks for', async () => {
    const board = await EmulatedBoard.create({ loader: loadLoader(), image: loadImage() });
    const bench = new DeskBench(board, new Random(5));
    const seen = { entered: 0, stops_kept: 0, stops_handed_over: 0 };
    for (let episode = 0; episode < amount(1000, 8, 12); episode++) {
      const { entered, stop_before, stop_at_restart, broken } = bench.play();
      expect([episode, broken]).toEqual([episode, []]);
      if (!entered) continue;
      seen.entered++;
      if (stop_before) seen.stops_kept++;
      if (stop_at_restart) seen.stops_handed_over++;
    }
    expect(seen.entered).toBeGreaterThan(4);
    expect(seen.stops_kept).toBeGreaterThan(0);
    expect(seen.stops_handed_over).toBeGreaterThan(0);
  });
});

describe('a trial of the outputs', () => {
  it('steps the way that it says, wherever the direction pin was put before', async () => {
    const board = await EmulatedBoard.create({ loader: loadLoader(), image: loadImage() });
    const link = new LinkPort(board);
    board.runUntil(() => board.tick.count > 1500, 4e9);
    expect(link.ask('desk-begin').status).toBe(0);
    const raise = (outputs: number, z_goal: number) => {
      expect(link.ask('trial-outputs', encodeLayout('trial_outputs', { outputs, z_goal })).status).toBe(0);
      board.run(50e6);
    };
    raise(numberOf(TRIAL_NUMBER_ROWS, 'TRIAL_Z_DIRECTION'), 0);
    raise(numberOf(TRIAL_NUMBER_ROWS, 'TRIAL_Z_OWNED'), -30);
    expect([board.recorder.z_steps, board.recorder.foreign_steps]).toEqual([-30, 0]);
    raise(numberOf(TRIAL_NUMBER_ROWS, 'TRIAL_Z_OWNED'), 10);
    expect(board.recorder.z_steps).toBe(10);
  });
});

describe('a bare board and the commands', () => {
  const folder = folderWith({ 'variant.image': variantImage(1) });
  let emulation: Emulation;
  const run = (command: string, ...args: readonly string[]) =>
    standoff(folder, command, '--port', emulation.address, ...args);
  const words = (text: string) => text.replace(/\s+/g, ' ');

  beforeAll(async () => {
    emulation = await Emulation.start(folder, '--bare');
  });
  afterAll(() => emulation.stop());

  it('says where it stands', async () => {
    // The box calls the open leads a fault after stray_ms of its own time; a loaded machine lets that pass late.
    await expect
      .poll(async () => (await run('box')).stdout, { timeout: 30_000, interval: 200 })
      .toMatch(/stands +in the fault voltage-at-rest .* latched stop set/);
  });

  it('is set in one step, and the person is told', async () => {
    const { status: ended, stdout } = await run('box', 'set', 'reading_zero_counts=600');
    expect(ended).toBe(0);
    expect(words(stdout)).toMatch(
      /It is in the desk state now: .* generation 1\. The box has started again, and stands again in the fault voltage-at-rest/,
    );
    expect((await run('box')).stdout).toMatch(/reading_zero_counts +600/);
  });

  it('is compared in lockstep', async () => {
    const { status: ended, stdout } = await run('lockstep', '--ticks', '1200');
    expect([ended, stdout]).toEqual([0, expect.stringContaining('all 1200 ticks the same, byte for byte')]);
  });

  it('is flashed', async () => {
    const { status: ended, stdout } = await run('flash', '--image', 'variant.image');
    expect(ended).toBe(0);
    expect(words(stdout)).toMatch(/until the new image starts\. Fault and latched stop outlast that:/);
    expect(stdout).toMatch(/written and verified: slot 1, generation 2/);
  });

  it('is refused with the key on, and says so', async () => {
    emulation.press('k');
    const { status: ended, stderr } = await run('box', 'set', 'reading_zero_counts=124');
    expect([ended, words(stderr)]).toEqual([2, expect.stringContaining('the arm key is on')]);
    emulation.press('k');
  });
});
