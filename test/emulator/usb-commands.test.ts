/** What the commands are made of, over the emulated USB port: the same client, flasher and lockstep as over the serial line. */
import { mock } from 'node:test';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { EmulatedBoard, REAL_TIMES, Stimulus } from '../../sim/emulator/index.js';
import {
  type FlashResult,
  flash,
  type Identity,
  leaveLoader,
  readIdentity,
  readImage,
  readParameters,
  readState,
  Session,
  withBox,
  withDesk,
  writeParameters,
} from '../../sim/link/index.js';
import { randomLeg, runLockstep } from '../../sim/run/box/lockstep.js';
import { loadControlModule } from '../../sim/run/controller/index.js';
import { RESTING } from './cutting.js';
import { EmulatedUsbPort } from './emulated-line.js';
import { loadImage, loadLoader, variantImage } from './images.js';

const MS_ns = 1e6;
let board: EmulatedBoard;
let port: EmulatedUsbPort;

async function powered(image?: Uint8Array): Promise<void> {
  board = await EmulatedBoard.create({ loader: loadLoader(), ...(image && { image }), times: REAL_TIMES });
  board.pins.setLines(RESTING);
  board.usb.plug();
  expect(
    board.runUntil(() => board.usb.device !== undefined, 2e9),
    board.problems.text(),
  ).toBe(true);
  port = new EmulatedUsbPort(board, (ms) => {
    if (ms > 0) mock.timers.tick(ms);
    return new Promise((resolve) => setImmediate(resolve));
  });
}

beforeEach(() => {
  mock.timers.enable({ apis: ['setTimeout', 'setInterval', 'Date'] });
  return powered(loadImage());
});
afterEach(() => {
  mock.timers.reset();
  expect(board.problems.text()).toBe('');
});

/** Lets the work run with a session of its own. */
async function session<T>(work: (session: Session) => Promise<T>): Promise<T> {
  const opened = new Session(await port.open());
  try {
    return await port.through(work(opened));
  } finally {
    await opened.close();
    board.run(10 * MS_ns);
  }
}

describe('over USB', () => {
  it('parameters are set and kept, and telemetry of every tick comes without a gap', async () => {
    const rows: number[] = [];
    await session(async (link) => {
      expect((await readIdentity(link)).in_loader).toBe(false);
      expect(await writeParameters(link, { ...(await readParameters(link)), pierce_ms: 450 })).toBe(1);
      expect((await readParameters(link)).pierce_ms).toBe(450);
      link.onTelemetry = ({ tick }, lost) => rows.push(lost === 0 ? (tick as number) : -1);
      await link.ask('telemetry', { every_ms: 1 });
      await new Promise((resolve) => setTimeout(resolve, 500));
      await link.ask('telemetry', { every_ms: 0 });
    });
    expect(rows.length).toBeGreaterThan(480);
    expect(rows.slice(1).every((tick, at) => tick === rows[at] + 1)).toBe(true);
  });

  it('lockstep finds all ticks the same, 2000 a second at least', async () => {
    let begun_ns = 0;
    const result = await session((link) =>
      runLockstep(link, {
        ticks: 4000,
        leg: (index) => randomLeg(loadControlModule(), index),
        onProgress: () => {
          begun_ns ||= board.now_ns;
        },
      }),
    );
    expect(result).toMatchObject({ ticks: 4000, difference: undefined });
    expect((1e9 * 4000) / (board.now_ns - begun_ns), 'ticks a second').toBeGreaterThan(2000);
  });

  it('flash brings an image into the other slot within 2 s, through two restarts of the port', async () => {
    const image = readImage(variantImage(1), 'variant.image');
    const begun_ns = board.now_ns;
    const result: FlashResult = await port.through(flash({ open: () => port.open(), image, baud: 921_600 }));
    expect(result).toMatchObject({
      slot: 1,
      generation: 2,
      reconnects: 0,
      after: { in_loader: false, boot: 'update' },
    });
    expect(board.usb.counts).toMatchObject({ enumerations: 3, gone: 2 });
    // All of it, with the flash chip's real times: into the loader, sent, written, verified, marked, started, asked.
    const all_ms = (board.now_ns - begun_ns) / MS_ns;
    console.info(`flash over USB: ${all_ms.toFixed(0)} ms`);
    expect(all_ms).toBeLessThan(2000);
  });

  it('flash brings the first image into a loader that has none', async () => {
    await powered();
    const image = readImage(loadImage(), 'standoff.image');
    const result = await port.through(flash({ open: () => port.open(), image, baud: 921_600 }));
    expect(result).toMatchObject({ slot: 0, generation: 1, after: { in_loader: false, boot: 'update' } });
  });

  it('a command that finds the loader starts the image, and goes on with the box once its port has come back', async () => {
    await session((link) => link.ask('loader-enter'));
    expect(board.runUntil(() => board.usb.counts.enumerations === 2, 2e9)).toBe(true);
    const asked: boolean[] = [];
    const work = async (link: Session, identity: Identity) => {
      asked.push(identity.in_loader);
      return (await leaveLoader(link, identity)).in_loader;
    };
    expect(await port.through(withBox('usb', work, undefined, undefined, () => port.open()))).toBe(false);
    expect(asked).toEqual([true, false]);
  });
});

describe('over USB, a box in a fault', () => {
  /** Voltage at the tap with the key off: a fault. */
  async function inFault(): Promise<void> {
    const stimulus = new Stimulus(board);
    stimulus.readings.fill(500);
    stimulus.reference = 700;
    for (let ms = 0; ms < 1500; ms++) {
      stimulus.begin(0, 0, 0);
      board.run(MS_ns);
    }
  }

  /** Lets the work run as a command does, in the desk state. */
  async function inDesk<T>(said: string[], work: (session: Session) => Promise<T>): Promise<T> {
    await inFault();
    const command = (link: Session) =>
      withDesk(
        link,
        (text) => said.push(text),
        () => work(link),
      );
    return port.through(withBox('usb', command, undefined, undefined, () => port.open()));
  }

  it('is set, starts again with its port, and is asked where it stands', async () => {
    const said: string[] = [];
    expect(await inDesk(said, (link) => writeParameters(link, { pierce_ms: 450 }))).toBe(1);
    expect(said).toEqual([
      expect.stringContaining('It is in the desk state now'),
      expect.stringMatching(/^The box has started again, and stands again in the fault .*V at the tap/),
    ]);
    expect(said[1]).not.toContain('desk state');
    expect(board.usb.counts).toMatchObject({ enumerations: 2, gone: 1 });
    const held = await session(async (link) => [await readParameters(link), await readState(link)] as const);
    expect(held).toMatchObject([{ pierce_ms: 450 }, { desk: 0 }]);
  });

  it('is compared in lockstep, and the result is kept', async () => {
    const leg = (index: number) => randomLeg(loadControlModule(), index);
    const result = await inDesk([], (link) => runLockstep(link, { ticks: 500, leg }));
    expect(result).toMatchObject({ ticks: 500, difference: undefined });
    expect(board.usb.counts).toMatchObject({ enumerations: 2, gone: 1 });
  });

  it('keeps the first thing that went wrong, and leaves the desk state all the same', async () => {
    const failing = inDesk([], (link) => writeParameters(link, { pierce_ms: -1 }));
    await expect(failing).rejects.toMatchObject({ code: 'box-parameter' });
    expect(await session(readState)).toMatchObject({ desk: 0 });
  });
});
