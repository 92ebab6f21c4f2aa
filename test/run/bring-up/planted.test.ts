/** Each step of the bring-up on an emulated board that is sound, and on one with a defect that it has to find. */

import { describe, expect, it } from 'vitest';
import { boardNumber } from '../../../firmware/ports/rp2040/board-rows.js';
import type { EmulatedBoard } from '../../../sim/emulator/index.js';
import { readImage } from '../../../sim/link/index.js';
import {
  bringUpSteps,
  EmulatedBench,
  type PlantedDefect,
  type StepResult,
  type Wire,
} from '../../../sim/run/bring-up/index.js';
import { loadImage, loadLoader, withHead } from '../../emulator/images.js';
import { START_DEFECTS } from './start-defects.js';

const IMAGE = loadImage();
const LOADER = loadLoader();
const image = () => readImage(IMAGE, 'standoff.image');
const steps = bringUpSteps(image);
/** Less than what the emulated run of the command takes, where a defect shows at once. */
const COUNTS: Readonly<Record<string, number>> = {
  clocks: 2,
  lockstep: 600,
  speeds: 5,
  'flash-times': 1,
  update: 1,
  replugs: 1,
  counters: 1,
};

interface Bench {
  readonly way?: 'usb' | 'serial';
  readonly image?: Uint8Array;
}

async function tried(name: string, defect: PlantedDefect = {}, given: Bench = {}): Promise<StepResult> {
  const bench = await EmulatedBench.start({ loader: LOADER, image: given.image ?? IMAGE }, given.way, defect);
  const step = steps.find((each) => each.name === name)!;
  try {
    return await step.run({ bench, count: COUNTS[name] ?? step.counts.emulated, tell: () => {} });
  } finally {
    await bench.close();
  }
}

/** The shipped image with other bytes in its body, with all its checksums right. */
function changedImage(change: (body: Uint8Array) => void): Uint8Array {
  const { head, body } = image();
  change(body);
  const { export_table, module_sha256, version } = head;
  return withHead(body, { export_table: export_table!, module_sha256: module_sha256!, version: version! });
}

/** Changes these bytes wherever they stand. */
const replaced = (from: Uint8Array, to: Uint8Array) =>
  changedImage((body) => {
    let at = Buffer.from(body).indexOf(from);
    expect(at).toBeGreaterThan(0);
    for (; at >= 0; at = Buffer.from(body).indexOf(from, at + 1)) if (at % 4 === 0 || to.length > 4) body.set(to, at);
  });
const u32 = (value: number) => new Uint8Array(new Uint32Array([value]).buffer);
/** STACK_MARK of the port's stack.h. */
const STACK_MARK = 0x4b415453;
const f32 = (value: number) => new Uint8Array(new Float32Array([value]).buffer);

/** Bits of a part of the flash that can no longer be set or cleared. */
const stuck = (at: number) => (board: EmulatedBoard) => {
  const { flash } = board.chip;
  const { onChange } = flash;
  flash.onChange = (from, bytes) => {
    flash.memory[at] &= 0xf7;
    onChange(from, bytes);
  };
};
const swapped = (one: string, other: string) => (wires: readonly Wire[]) =>
  wires.map((wire) => ({ ...wire, to: wire.to === one ? other : wire.to === other ? one : wire.to }));
/** Where the image has the bit that `stuck` clears. */
const SET_AT = IMAGE.findIndex((byte, at) => at > 5000 && (byte & 8) !== 0);
const KEPT_AT = boardNumber('KEPT_AT');
const SECTOR = boardNumber('SECTOR_BYTES');

describe('on a sound board', () => {
  it.each([
    'identity',
    'clocks',
    'ticks',
    'lockstep',
    'restarts',
    'flash-times',
    'replugs',
    'power-cuts',
    'inputs',
    'counters',
    'hang',
    'stack',
    'protected',
    'outputs',
    'steps',
  ])('%s passes', async (name) => expect(await tried(name)).toMatchObject({ verdict: 'passed' }));
  it('speeds pass over the serial line, and are not tried over USB', async () => {
    expect(await tried('speeds', {}, { way: 'serial' })).toMatchObject({ verdict: 'passed' });
    expect(await tried('speeds')).toMatchObject({ verdict: 'not tried' });
  });
  it('update passes, in both slots', async () => {
    expect(await tried('update')).toMatchObject({ verdict: 'passed', figures: { slots: 2 } });
  });
});

interface Planted extends Bench {
  readonly step: string;
  readonly what: string;
  readonly defect?: PlantedDefect;
  /** What it says. */
  readonly words: RegExp;
}

let lines = 0;
const PLANTED: readonly Planted[] = [
  {
    step: 'identity',
    what: 'another module',
    image: replaced(Buffer.from(image().module_sha256, 'hex'), new Uint8Array(32)),
    words: /NOT the one/,
  },
  {
    step: 'clocks',
    what: 'a crystal that is off by 0.2 %',
    defect: { host_rate: 1.002 },
    words: /-2\d{3} ppm|-1\d{3} ppm/,
  },
  { step: 'clocks', what: 'a wrong divider', defect: { host_rate: 0.96 }, words: /ppm/ },
  {
    step: 'ticks',
    what: 'a port that loses packets',
    defect: { line: (bytes) => (++lines % 300 === 0 ? undefined : bytes) },
    words: /[1-9]\d* rows lost/,
  },
  {
    step: 'lockstep',
    what: 'another constant in the code',
    image: replaced(f32(0.001), f32(0.0010001)),
    words: /DIFFER/,
  },
  {
    step: 'speeds',
    what: 'an adapter that is too slow for 921600',
    way: 'serial',
    defect: {
      line: (bytes, baud) => (baud > 500_000 ? bytes.map((byte, at) => (at % 3 === 0 ? byte ^ 4 : byte)) : bytes),
    },
    words: /921600/,
  },
  {
    step: 'flash-times',
    what: 'a chip that erases too slowly',
    defect: {
      board: (board) => {
        board.chip.flash.times = { sector_erase_us: 600_000, block_erase_us: 600_000, page_program_us: 700 };
      },
    },
    words: /commit 1/,
  },
  {
    step: 'flash-times',
    what: 'a bit that cannot be erased',
    defect: {
      board: (board) => {
        stuck(KEPT_AT + 1)(board);
        stuck(KEPT_AT + SECTOR + 1)(board);
      },
    },
    words: /commit 1/,
  },
  {
    step: 'update',
    what: 'a bit of the other slot that is stuck',
    defect: { board: stuck(boardNumber('SLOT_1_AT') + SET_AT) },
    words: /update 1/,
  },
  {
    step: 'replugs',
    what: 'a port that does not come back',
    defect: {
      cable: (board) => {
        board.powerCut();
        board.usb.unplug();
      },
    },
    words: /did not come back/,
  },
  {
    step: 'power-cuts',
    what: 'kept parameters that a cut erases',
    defect: {
      cable: (board) => {
        board.powerCut();
        board.flash.fill(0xff, KEPT_AT, KEPT_AT + 2 * SECTOR);
        board.powerUp();
      },
    },
    words: /neither the old ones nor the new/,
  },
  {
    step: 'inputs',
    what: 'two inputs exchanged',
    defect: { wires: swapped('TOUCH', 'BREAKAWAY') },
    words: /with TOUCH at 0 V these read true: BREAKAWAY/,
  },
  {
    step: 'inputs',
    what: 'an input that is not connected',
    defect: { wires: (wires) => wires.filter(({ to }) => to !== 'HOLD') },
    words: /with HOLD at 0 V these read true: none/,
  },
  {
    step: 'inputs',
    what: 'a bridge between two inputs',
    defect: {
      wires: (wires) => wires.flatMap((wire) => (wire.to === 'TOP' ? [wire, { ...wire, to: 'HOLD' }] : [wire])),
    },
    words: /TOP, HOLD/,
  },
  {
    step: 'inputs',
    what: 'a resistor that is missing',
    defect: { floating: ['STOP_CHAIN'] },
    words: /with nothing wired these read true: STOP_CHAIN/,
  },
  {
    step: 'counters',
    what: 'X and Y exchanged',
    defect: { wires: swapped('X_STEP', 'Y_STEP') },
    words: /on the other axis/,
  },
  {
    step: 'counters',
    what: 'a direction that is not connected',
    defect: { wires: (wires) => wires.filter(({ to }) => to !== 'Y_DIRECTION') },
    words: /Y, positive: -2 steps of 2/,
  },
  {
    step: 'counters',
    what: 'a step line that is not connected',
    defect: { wires: (wires) => wires.filter(({ to }) => to !== 'X_STEP') },
    words: /X, negative: 0 steps of -2/,
  },
  {
    step: 'outputs',
    what: 'two outputs exchanged',
    defect: {
      wires: (wires) =>
        wires.map((wire) =>
          wire.to === 'HOLD' ? { ...wire, to: 'RESET' } : wire.to === 'RESET' ? { ...wire, to: 'HOLD' } : wire,
        ),
    },
    words: /with Z_OWNED raised these are high: MOTION_PERMIT/,
  },
  {
    step: 'outputs',
    what: 'an output that is stuck',
    defect: { wires: (wires) => wires.map((wire) => (wire.from === 'Z_DIRECTION' ? { ...wire, from: '0 V' } : wire)) },
    words: /with Z_DIRECTION raised these are high: none/,
  },
  {
    step: 'outputs',
    what: 'an output that does not rest',
    defect: {
      wires: (wires) => wires.map((wire) => (wire.from === 'MOTION_PERMIT' ? { ...wire, from: '3.3 V' } : wire)),
    },
    words: /at rest these are high: MOTION_PERMIT/,
  },
  {
    step: 'outputs',
    what: 'a latched stop that never comes',
    defect: { wires: (wires) => wires.map((wire) => (wire.from === 'LATCHED_STOP' ? { ...wire, from: '0 V' } : wire)) },
    words: /the pin is not what the box says/,
  },
  {
    step: 'steps',
    what: 'one lost pulse in a thousand',
    defect: { loses: (pulse) => pulse % 1000 === 0 },
    words: /2000 steps of 2000: X counted 199\d/,
  },
  {
    step: 'steps',
    what: 'a direction that is not connected',
    defect: { wires: (wires) => wires.filter(({ to }) => to !== 'Y_DIRECTION') },
    words: /Y -2000/,
  },
  {
    step: 'stack',
    what: 'a stack without its mark',
    image: replaced(u32(STACK_MARK), u32(0)),
    words: /failure 1: the box goes on as if nothing had been/,
  },
  ...START_DEFECTS,
];

describe('on a board with a defect', () => {
  it.each(PLANTED)('$step finds $what', async ({ step, defect, words, ...bench }) => {
    const { verdict, words: said } = await tried(step, defect, bench);
    expect([verdict, said]).toEqual(['failed', expect.stringMatching(words)]);
  });

  it('a box that has power of its own is not tried by its cable', async () => {
    const cable = (board: EmulatedBoard) => {
      board.usb.unplug();
      board.usb.plug();
    };
    expect(await tried('replugs', { cable })).toMatchObject({
      verdict: 'not tried',
      words: expect.stringContaining('ran on'),
    });
  });

  it('each step has one; those of the converter have a test of their own, on readings', () => {
    const found = new Set(PLANTED.map(({ step }) => step));
    const without = steps.map(({ name }) => name).filter((name) => !found.has(name));
    expect(without).toEqual(['converter']);
  });
});
