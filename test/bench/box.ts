import { readFileSync } from 'node:fs';
import { mock } from 'node:test';
import { MODE_ROWS } from '../../firmware/wire/code-rows.js';
import { SHORT_CUTS } from '../../sim/campaign/index.js';
import { EmulatedBoard, EmulatedController, REAL_TIMES } from '../../sim/emulator/index.js';
import { Judge, requirementContext } from '../../sim/judge/index.js';
import { agreeSpeed, flash, readImage, Session } from '../../sim/link/index.js';
import { randomLeg, runLockstep } from '../../sim/run/box/lockstep.js';
import { type ControlModule, WasmController } from '../../sim/run/controller/index.js';
import { motionLimits, Runner } from '../../sim/run/loop/index.js';
import { exampleSetup } from '../../sim/run/setup/index.js';
import { parseProgram, planProgram } from '../../sim/world/motion/index.js';
import { RESTING } from '../emulator/cutting.js';
import { EmulatedLine, EmulatedUsbPort } from '../emulator/emulated-line.js';
import { figure, heading, table } from './table.js';

const shipped = (name: string): Uint8Array => readFileSync(`firmware/image/${name}`);
const CYCLES_A_MS = 125_000;
const BAUD = 921_600;

/** Lets the board run until the work is done. */
async function through<T>(line: EmulatedLine, work: Promise<T>): Promise<T> {
  let ended = false;
  const end = () => {
    ended = true;
  };
  work.then(end, end);
  while (!ended) await line.millisecond();
  return work;
}

/** The shipped image on the emulated board: ticks, closed loop, lockstep, update; all in the board's own time. */
export async function box(module: ControlModule): Promise<void> {
  heading('The box: shipped image on the emulated RP2040 (125 MHz)');
  const { body } = readImage(shipped('standoff.image'), 'standoff.image');
  const facts = JSON.parse(readFileSync('firmware/image/hashes.json', 'utf8')) as { static_ram_bytes: number };
  console.log(
    `image ${body.length} bytes (at most 65536), static memory ${facts.static_ram_bytes} bytes (at most 32768)`,
  );
  await closedLoop(module);
  await lockstepAndUpdate(module);
  await overUsb(module);
}

/** A short cut through the board and in this process; the length of a tick by mode. */
async function closedLoop(module: ControlModule): Promise<void> {
  const setup = exampleSetup();
  const { box: parameters, machine, world } = setup;
  const plan = planProgram(parseProgram(SHORT_CUTS[2].text, SHORT_CUTS[2].name), motionLimits(machine));
  const board = await EmulatedBoard.create({ loader: shipped('loader.bin'), image: shipped('standoff.image') });
  const controller = new EmulatedController(board, { digital_inputs: RESTING });
  const modes = MODE_ROWS.map(() => ({ ticks: 0, sum: 0, worst: 0 }));
  const cut = (by: EmulatedController | WasmController) => {
    const runner = new Runner({ box: parameters, machine, world, plan, seed: 1, controller: by });
    const judge = new Judge(requirementContext(parameters, { relay_release_ms: machine.firing.relay_release_ms }));
    while (!runner.finished) {
      runner.runBlock(by instanceof EmulatedController ? 1 : undefined);
      judge.block(runner.block);
      if (!(by instanceof EmulatedController)) continue;
      const mode = modes[runner.block.mode[0]];
      const { cycles } = by.telemetry;
      mode.ticks++;
      mode.sum += cycles;
      mode.worst = Math.max(mode.worst, cycles);
    }
    return judge;
  };
  const emulated = cut(controller);
  const plain = cut(new WasmController(module));
  const percent = (cycles: number) => figure((100 * cycles) / CYCLES_A_MS, 1);
  const rows = MODE_ROWS.flatMap(({ code, name }) => {
    const { ticks, sum, worst } = modes[code];
    return ticks === 0 ? [] : [[name, String(ticks), figure(sum / ticks, 0), String(worst), percent(worst)]];
  });
  console.log(table([['tick by mode', 'ticks', 'mean cycles', 'worst cycles', '% of the period'], ...rows]));
  const whole = [board.tick.worst_ns, board.tick.worst_own_ns].map((ns) => `${figure(ns / 1e4, 1)} %`);
  console.log(
    `longest tick from entry to end ${whole[0]}, without the interrupts in it ${whole[1]} (wanted 10 %, goal 5 %)`,
  );
  const of = (judge: Judge) => judge.figures.figures();
  console.log(
    table([
      ['closed loop, a short cut with a crossing', 'on the board', 'in this process'],
      ['standoff error rms, mm', figure(of(emulated).standoff_error_rms_mm!), figure(of(plain).standoff_error_rms_mm!)],
      ['99.9 % within, mm', figure(of(emulated).standoff_error_p999_mm!), figure(of(plain).standoff_error_p999_mm!)],
      ['every requirement kept', String(emulated.kept()), String(plain.kept())],
    ]),
  );
}

async function lockstepAndUpdate(module: ControlModule): Promise<void> {
  const board = await EmulatedBoard.create({
    loader: shipped('loader.bin'),
    image: shipped('standoff.image'),
    times: REAL_TIMES,
  });
  board.pins.setLines(RESTING);
  board.runUntil(() => board.tick.count > 0, 1e9);
  mock.timers.enable({ apis: ['setTimeout', 'setInterval', 'Date'] });
  const line = new EmulatedLine(board, () => {
    mock.timers.tick(1);
    return new Promise((resolve) => setImmediate(resolve));
  });
  const session = new Session(line);
  const baud = await through(line, agreeSpeed(session, BAUD, line.baud));
  const ticks = 4000;
  let asked_s = 0;
  const value = await through(
    line,
    runLockstep(session, {
      ticks,
      leg: (index) => randomLeg(module, index),
      onProgress: () => {
        asked_s ||= board.now_ns / 1e9;
      },
    }),
  );
  const time_s = board.now_ns / 1e9 - asked_s;
  const same = value.difference === undefined ? 'every byte the same' : `differs at tick ${value.difference.tick}`;
  console.log(`lockstep at ${baud} bit/s: ${figure(value.ticks / time_s, 0)} ticks a second, ${same} (wanted 500)`);
  await session.close();
  await line.setSpeed(115_200);
  board.run(2e9);
  const image = readImage(shipped('standoff.image'), 'standoff.image');
  let start_ns = 0;
  let end_ns = 0;
  await through(
    line,
    flash({
      open: async () => line,
      image,
      baud: BAUD,
      onProgress: ({ phase }) => {
        if (phase === 'send') start_ns ||= board.now_ns;
        if (phase === 'restart') end_ns = board.now_ns;
      },
    }),
  );
  const share = (image.body.length * 10) / BAUD / ((end_ns - start_ns) / 1e9);
  console.log(
    `update at ${BAUD} bit/s with real flash times: ${figure((end_ns - start_ns) / 1e6, 0)} ms, ` +
      `${figure(100 * share, 0)} % of the line's rate (wanted 60 %)`,
  );
  mock.timers.reset();
}

/** The same over the box's own USB port, at a strict PC. */
async function overUsb(module: ControlModule): Promise<void> {
  const board = await EmulatedBoard.create({
    loader: shipped('loader.bin'),
    image: shipped('standoff.image'),
    times: REAL_TIMES,
  });
  board.pins.setLines(RESTING);
  board.runUntil(() => board.tick.count > 0, 1e9);
  const plugged_ns = board.now_ns;
  board.usb.plug();
  board.runUntil(() => board.usb.device !== undefined, 2e9);
  const found_ns = board.now_ns;
  mock.timers.enable({ apis: ['setTimeout', 'setInterval', 'Date'] });
  const port = new EmulatedUsbPort(board, (ms) => {
    if (ms > 0) mock.timers.tick(ms);
    return new Promise((resolve) => setImmediate(resolve));
  });
  const session = new Session(await port.open());
  const ticks = 4000;
  let begun_ns = 0;
  const onProgress = () => {
    begun_ns ||= board.now_ns;
  };
  const options = { ticks, leg: (index: number) => randomLeg(module, index), onProgress };
  const value = await port.through(runLockstep(session, options));
  const rate = (1e9 * value.ticks) / (board.now_ns - begun_ns);
  await session.close();
  board.run(1e8);
  const image = readImage(shipped('standoff.image'), 'standoff.image');
  const flashed_ns = board.now_ns;
  await port.through(flash({ open: () => port.open(), image, baud: BAUD }));
  console.log(
    `over USB: port found ${figure((found_ns - plugged_ns) / 1e6, 0)} ms after the plug; lockstep ${figure(rate, 0)} ticks a ` +
      `second (wanted 2000); update in all ${figure((board.now_ns - flashed_ns) / 1e6, 0)} ms (wanted 2000)`,
  );
  mock.timers.reset();
}
