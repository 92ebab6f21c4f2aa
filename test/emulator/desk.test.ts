/** The desk state of the shipped image on the emulated chip: random episodes at its pins, and the commands with a bare board. */
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import * as wire from '../../firmware/wire/layout.gen.js';
import { BOOT_ROWS, STATUS_ROWS } from '../../firmware/wire/link-rows.js';
import { Random } from '../../sim/base/index.js';
import { type Edge, EmulatedBoard, LinkPort, Stimulus } from '../../sim/emulator/index.js';
import { decodeLayout, encodeLayout } from '../../sim/link/index.js';
import { folderWith, standoff } from '../commands/command.js';
import { amount } from '../support/volume.js';
import { Emulation } from './emulation.js';
import { loadImage, loadLoader, variantImage } from './images.js';

const MS_ns = 1e6;
const QUIET = wire.INPUT_STOP_CHAIN | wire.INPUT_BREAKAWAY | wire.INPUT_TOP;
const SOUND = { arc_counts: 124, reference_counts: 2048 };
const VALUE = encodeLayout('values', {}, [{ id: 1, value: 600 }]);
const status = (name: string) => STATUS_ROWS.findIndex((row) => row.name === name);
/** What a host may ask for in the desk state without ending it. */
const REQUESTS: readonly (readonly [string, Uint8Array?])[] = [
  ['desk-begin'],
  ['desk-begin'],
  ['state'],
  ['identity'],
  ['parameters-stage', VALUE],
  ['parameters-commit'],
  ['lockstep-begin'],
  ['lockstep-ticks', encodeLayout('tick_inputs', { first: 0 }, new Uint8Array(wire.INPUT_BYTES).fill(0x55))],
  ['lockstep-end'],
];

/** What an episode showed. */
interface Episode {
  readonly entered: boolean;
  readonly stop_before: boolean;
  /** From the answer to desk-begin until the restart. */
  readonly edges: readonly Edge[];
  readonly restarted: boolean;
}

/** A board whose wires are anything, brought into the desk state, with anything asked of it there. */
class Bench {
  private readonly stimulus: Stimulus;
  private readonly link: LinkPort;
  private inputs = 0;

  constructor(
    readonly board: EmulatedBoard,
    private readonly random: Random,
  ) {
    this.stimulus = new Stimulus(board);
    this.link = new LinkPort(board);
  }

  private wire(arc_counts: number, reference_counts: number): void {
    this.stimulus.readings.fill(arc_counts);
    this.stimulus.reference = reference_counts;
  }

  private ms(count: number): void {
    for (let done = 0; done < count; done++) {
      this.stimulus.begin(this.inputs, 0, 0);
      this.board.run(MS_ns);
    }
  }

  private turn(): void {
    const { random } = this;
    if (random.chance(0.1)) this.inputs ^= 1 << Math.floor(random.between(0, 9));
    if (random.chance(0.05)) this.wire(Math.floor(random.between(0, 4096)), Math.floor(random.between(0, 4096)));
    // Somebody arms it, with all else as in a sound box; or puts all right and presses reset.
    if (random.chance(0.03)) this.inputs = QUIET | wire.INPUT_KEY | wire.INPUT_REQUEST;
    if (random.chance(0.05)) {
      this.wire(SOUND.arc_counts, SOUND.reference_counts);
      this.inputs = QUIET | wire.INPUT_RESET;
    }
  }

  play(): Episode {
    const { board, random, link } = this;
    this.inputs = random.chance(0.6) ? 0 : QUIET;
    const wired = random.chance(0.3);
    if (wired) this.wire(SOUND.arc_counts, SOUND.reference_counts);
    else this.wire(Math.floor(random.between(0, 1001)), Math.floor(random.between(0, 4096)));
    board.powerCut();
    board.powerUp();
    this.ms(900);
    const entered = link.try('desk-begin')?.status === status('done');
    const stop_before = (board.pins.digital_outputs & wire.OUTPUT_LATCHED_STOP) !== 0;
    const from_ns = board.now_ns;
    for (let step = 0; step < 40; step++) {
      this.turn();
      this.ms(5);
      if (random.chance(0.4)) link.try(...REQUESTS[Math.floor(random.between(0, REQUESTS.length))]);
    }
    const edges = board.recorder.edges(from_ns).filter(({ pin }) => pin !== 'LAMP');
    this.inputs = 0;
    this.ms(5);
    link.try('lockstep-end');
    link.try('restart');
    this.ms(450);
    const identity = link.try('identity');
    const boot = identity && decodeLayout('identity', identity.payload)!.values.boot;
    return { entered, stop_before, edges, restarted: BOOT_ROWS[boot as number]?.name === 'restart' };
  }
}

describe('the desk state on the emulated chip', () => {
  it('moves no pin but to set the latched stop, whatever its wires do and a host asks for', async () => {
    const board = await EmulatedBoard.create({ loader: loadLoader(), image: loadImage() });
    const bench = new Bench(board, new Random(5));
    const seen = { entered: 0, stops_kept: 0 };
    for (let episode = 0; episode < amount(1000, 8, 24); episode++) {
      const { entered, stop_before, edges, restarted } = bench.play();
      if (!entered) continue;
      seen.entered++;
      if (stop_before) seen.stops_kept++;
      const wrong = edges.filter(({ pin, high }) => pin !== 'LATCHED_STOP' || !high);
      expect([episode, wrong]).toEqual([episode, []]);
      expect([episode, restarted]).toEqual([episode, true]);
    }
    expect(seen.entered).toBeGreaterThan(4);
    expect(seen.stops_kept).toBeGreaterThan(0);
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
    expect(words(stdout)).toMatch(/until the new image starts, which ends the fault and resets the latched stop\./);
    expect(stdout).toMatch(/written and verified: slot 1, generation 2/);
  });

  it('is refused with the key on, and says so', async () => {
    emulation.press('k');
    const { status: ended, stderr } = await run('box', 'set', 'reading_zero_counts=124');
    expect([ended, words(stderr)]).toEqual([2, expect.stringContaining('the arm key is on')]);
    emulation.press('k');
  });
});
