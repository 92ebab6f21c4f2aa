import { spawn } from 'node:child_process';
import { Command, InvalidArgumentError, Option } from '@commander-js/extra-typings';
import {
  OUTPUT_LATCHED_STOP,
  OUTPUT_PERMIT,
  OUTPUT_TRIGGER,
  OUTPUT_Z_OWNED,
} from '../../../firmware/wire/layout.gen.js';
import { type CodeOf, StandoffError } from '../../base/index.js';
import { type BoardOptions, EmulatedBoard, romStart } from '../../emulator/index.js';
import { readImage } from '../../link/index.js';
import { awaitFirmware, standForDrive } from '../../run/begin/index.js';
import { type Hand, PracticeBox, PracticeTable } from '../../run/box/index.js';
import { clockText, terminalStyle } from '../../views/text/index.js';
import { EXIT, interruptible } from '../base/command-line.js';
import { readBytes, shippedFile } from '../base/files.js';
import { blockDelete, DEFAULT_SEED, readJob, seedOf } from '../base/inputs.js';
import { ProgressDisplay } from '../base/progress.js';

/** An arbitrary port; any free one will do. */
const DEFAULT_LISTEN = 4100;

function listenOf(text: string): number {
  const port = Number(text);
  if (/^\d+$/.test(text) && port <= 65_535) return port;
  throw new InvalidArgumentError('Give a port from 1 to 65535, or 0 for any free one.');
}

export const emulateCommand = () =>
  new Command('emulate')
    .description(
      'Runs the shipped loader and image on an emulated board in real time, with a virtual sheet, torch and table ' +
        'behind its pins, and offers its serial line on a TCP port of this computer. Flash it, set it, watch it: every ' +
        'command takes the address that is printed.',
    )
    .argument('[program]', 'RS-274 program that the table cuts (default: the example)')
    .addOption(blockDelete())
    .option('--setup <file>', 'machine and world, as YAML (default: the example); the box keeps its own parameters')
    .option('--seed <n>', `seed of everything random (default: ${DEFAULT_SEED})`, seedOf)
    .option('--listen <port>', 'TCP port, 0 for any free one', listenOf, DEFAULT_LISTEN)
    .addOption(
      new Option('--usb', 'offer the board’s own USB port on that TCP port, not its serial line').conflicts('pty'),
    )
    .option('--pty', 'offer a serial device as well (needs socat); not with --usb, whose port goes with each start')
    .option('--image <file>', 'image that is in the box at the start (default: the one that came with Standoff)')
    .addOption(
      new Option(
        '--drive <folder>',
        'begin with an empty flash, as a new board; the folder stands for the drive that it shows while its boot button is ' +
          'held, and takes a UF2 file',
      ).conflicts('image'),
    )
    .option(
      '--boot-rom <file>',
      'run the boot ROM that you read out of a chip of your own, 16384 bytes (default: a model of what it does)',
    )
    .option('--bare', 'nothing is wired to the board but, for trial, the key: as it comes out of its bag')
    .option('--cut', 'turn the key on and cut at once')
    .option('--plain', 'ASCII only, without colour')
    .addHelpText('after', '\nKeys, also on a pipe: c cut, k key, s stop chain, h hold, e reset, p power, q quit.');

type EmulateOptions = ReturnType<ReturnType<typeof emulateCommand>['opts']>;

/** How often the state line is drawn, ms. */
const SHOW_MS = 200;
const HAND_KEYS: Readonly<Record<string, Hand>> = { k: 'key', s: 'stop', h: 'hold', e: 'reset' };
const KEYS = 'keys: c cut, k key, s stop chain, h hold, e reset, p power off and on, q quit';

/**
 * Runs an emulated box until somebody ends it.
 * @returns the exit status
 * @throws StandoffError for bad input, a missing image or emulator, a port that is taken
 */
export async function emulate(program: string | undefined, options: EmulateOptions): Promise<number> {
  const { listen, pty, usb, cut } = options;
  const { scenario, plan } = readJob(program, options);
  const boot_rom = options.bootRom === undefined ? undefined : readBytes(options.bootRom, 'boot ROM');
  if (boot_rom) romStart(boot_rom, options.bootRom);
  const contents = options.drive === undefined ? shipped(options.image) : await copied(options.drive);
  if (contents === undefined) return EXIT.interrupted;
  const board = await EmulatedBoard.create({ ...contents, boot_rom });
  const table = new PracticeTable(scenario.setup, plan, scenario.seed);
  const box = new PracticeBox(board, table, { bare: options.bare === true, usb: usb === true });
  const style = terminalStyle(process.env, process.stdout, options.plain);
  const display = new ProgressDisplay(process.stdout, style);
  const say = (text: string) => display.say(text);
  await box.listen(listen);
  let terminal: SerialDevice | undefined;
  const stop = new AbortController();
  let silence = () => {};
  let watching: NodeJS.Timeout | undefined;
  try {
    terminal = pty ? await openSerialDevice(box.port) : undefined;
    const address = terminal?.device ?? `${usb ? 'usb' : 'tcp'}://127.0.0.1:${box.port}`;
    const behind = options.bare ? 'with nothing wired to it' : `and a virtual table that cuts ${scenario.program.name}`;
    say(`An emulated box, ${behind}.`);
    say(`address: ${address}`);
    for (const next of NEXT) say(`next: standoff ${next.replace('PORT', address)}`);
    if (cut) table.cut();
    const state = new StateLine(box);
    // Who comes while the loader listens gets the loader: what invites to come is said when the box runs.
    let invitation: ReturnType<typeof invite> | undefined = invite(box, KEYS);
    watching = setInterval(() => {
      if (invitation?.due()) {
        say(invitation.words);
        invitation = undefined;
      }
      for (const event of state.events()) say(event);
      if (style.live) display.stage(state.text());
    }, SHOW_MS);
    silence = listenToKeys((key) => {
      if (key === '\x03') process.kill(process.pid, 'SIGINT');
      else if (key === 'q') stop.abort();
      else if (key === 'c') table.cut();
      else if (key === 'p') {
        box.powerCycle();
        invitation = invite(box, 'Power off, and on again.');
      } else if (HAND_KEYS[key]) table.turn(HAND_KEYS[key]);
    });
    const interrupted = await interruptible(async (signal) => {
      signal.addEventListener('abort', () => stop.abort());
      await box.run(stop.signal);
      return signal.aborted;
    });
    return interrupted === false ? EXIT.kept : EXIT.interrupted;
  } finally {
    clearInterval(watching);
    silence();
    terminal?.close();
    await box.close();
    display.end();
  }
}

/** Words to say once the box ticks; a board on which nothing does has a second of its time. */
function invite({ board }: PracticeBox, words: string): { readonly words: string; readonly due: () => boolean } {
  const { count } = board.tick;
  const latest_ns = board.now_ns + 1e9;
  return { words, due: () => board.tick.count !== count || board.now_ns > latest_ns };
}

/** Loader and image as they lie in the flash after the first installation. @throws StandoffError `image-…`, `file-…` */
function shipped(file: string | undefined): BoardOptions {
  const image_file = file ?? shippedFile('standoff.image');
  const image = readBytes(image_file, 'image');
  readImage(image, image_file);
  return { loader: readBytes(shippedFile('loader.bin'), 'loader'), image };
}

/** What a UF2 file brings into an empty flash. @returns undefined when it was broken off @throws StandoffError `folder-…` */
async function copied(folder: string): Promise<BoardOptions | undefined> {
  standForDrive(folder);
  process.stdout.write(`A new board, with its boot button held: copy ${shippedFile('standoff.uf2')} into ${folder}\n`);
  const flash = await interruptible((signal) => awaitFirmware(folder, signal));
  return flash && { flash };
}

const NEXT = ['box --port PORT', 'watch --port PORT', 'flash --port PORT'];

/** The state of an emulated box and its table as one line, and the events that get a line of their own. */
class StateLine {
  private said = '';
  private resets = 0;
  private before_ms = 0;
  private before_wall_ms = performance.now();

  constructor(private readonly box: PracticeBox) {}

  text(): string {
    const { table, digital_outputs, now_ms } = this.box;
    const on = (bit: number, yes: string, no: string) => ((digital_outputs & bit) !== 0 ? yes : no);
    return [
      `${clockText(now_ms / 1000)}${this.pace()}`,
      table.words,
      `key ${table.isOn('key') ? 'ON' : 'off'}`,
      ...(table.isOn('stop') ? [] : ['stop chain OPEN']),
      ...(table.isOn('hold') ? ['hold ON'] : []),
      ...(table.isOn('reset') ? ['reset ON'] : []),
      `trigger ${on(OUTPUT_TRIGGER, 'ON', 'off')}`,
      `permit ${on(OUTPUT_PERMIT, 'GIVEN', 'withheld')}`,
      ...((digital_outputs & OUTPUT_LATCHED_STOP) !== 0 ? ['latched stop SET'] : []),
      `Z ${on(OUTPUT_Z_OWNED, 'the box', 'the table')}`,
    ].join('  ');
  }

  /** What has happened since the last call. */
  events(): string[] {
    const { box } = this;
    const found: string[] = [];
    const over = box.table.cutting || box.table.cuts === 0 ? '' : `cut ${box.table.cuts}: ${box.table.words}`;
    if (over !== '' && over !== this.said) found.push(`${over}.`);
    this.said = over;
    const { resets } = box.board.chip;
    if (resets !== this.resets) found.push('The box has started again.');
    this.resets = resets;
    return found;
  }

  /** Shown only when this computer is too slow. */
  private pace(): string {
    const { now_ms } = this.box;
    const wall_ms = performance.now();
    const pace = (now_ms - this.before_ms) / (wall_ms - this.before_wall_ms);
    this.before_ms = now_ms;
    this.before_wall_ms = wall_ms;
    return pace < 0.9 ? ` at ${pace.toFixed(1)}× real time` : '';
  }
}

/** Arrow keys and the like come as several characters, none of which is a key of its own. */
// biome-ignore lint/suspicious/noControlCharactersInRegex: escape sequences begin with one
const ESCAPES = /\x1b(?:\[[0-9;?]*[ -/]*[@-~]|O[A-Z]|.)?/g;

/**
 * Single keys of standard input, without Enter on a terminal; on a pipe each character is one.
 * @returns restores the terminal
 */
function listenToKeys(press: (key: string) => void): () => void {
  const { stdin } = process;
  const onData = (chunk: Buffer | string) => {
    for (const key of chunk.toString().replace(ESCAPES, '')) press(key);
  };
  if (stdin.isTTY) stdin.setRawMode(true);
  stdin.on('data', onData);
  stdin.resume();
  return () => {
    stdin.off('data', onData);
    if (stdin.isTTY) stdin.setRawMode(false);
    stdin.pause();
  };
}

/** A serial device of this computer that leads to a TCP port. */
interface SerialDevice {
  /** Such as /dev/pts/7. */
  readonly device: string;
  close(): void;
}

const NAMED = /PTY is (\S+)/;
const LONGEST_MS = 5000;

/**
 * Makes a pseudo-terminal with socat.
 * @throws StandoffError `socat-missing`, `socat-failed`
 */
function openSerialDevice(port: number): Promise<SerialDevice> {
  return new Promise((resolve, reject) => {
    const socat = spawn('socat', ['-d', '-d', 'pty,raw,echo=0', `tcp:127.0.0.1:${port},nodelay`], {
      stdio: ['ignore', 'ignore', 'pipe'],
    });
    const close = () => void socat.kill();
    const fail = (code: CodeOf<'socat'>, what: string, remedy: string) => {
      clearTimeout(timer);
      close();
      reject(new StandoffError(`socat-${code}`, what, remedy));
    };
    const late = () => fail('failed', 'socat made no serial device', 'use the TCP address');
    const timer = setTimeout(late, LONGEST_MS);
    socat.on('error', () =>
      fail('missing', '--pty needs the program socat, which was not found', 'install it, or use the TCP address'),
    );
    let said = '';
    socat.stderr.on('data', (chunk) => {
      said += String(chunk);
      const device = NAMED.exec(said)?.[1];
      if (device === undefined) return;
      clearTimeout(timer);
      socat.stderr.removeAllListeners('data').resume();
      resolve({ device, close });
    });
  });
}
