import { OUTPUT_LATCHED_STOP, OUTPUT_PERMIT, OUTPUT_TRIGGER, OUTPUT_Z_OWNED } from '../../../firmware/wire/layout.js';
import { EmulatedBoard } from '../../emulator/index.js';
import { readImage } from '../../link/index.js';
import { terminalStyle } from '../../views/terminal/index.js';
import { clockText } from '../../views/terminal/text.js';
import { EXIT, interruptible } from '../base/exit.js';
import { readBytes, shippedFile } from '../base/files.js';
import { readJob } from '../base/inputs.js';
import { ProgressDisplay } from '../base/progress.js';
import type { EmulateOptions } from './emulate-options.js';
import { listenToKeys } from './keyboard.js';
import { PracticeBox } from './practice-box.js';
import { type Hand, PracticeTable } from './practice-table.js';
import { openPseudoTerminal, type PseudoTerminal } from './pseudo-terminal.js';

/** How often the line of state is drawn, ms. */
const SHOW_MS = 200;
const HAND_KEYS: Readonly<Record<string, Hand>> = { k: 'key', s: 'stop', h: 'hold', e: 'reset' };
const KEYS = 'keys: c cut, k key, s stop chain, h hold, e reset, p power off and on, q quit';

/**
 * Runs an emulated box until somebody ends it.
 * @returns the exit status
 * @throws StandoffError for bad input, a missing image or emulator, a port that is taken
 */
export async function emulate(program: string | undefined, options: EmulateOptions): Promise<number> {
  const { setup, seed, listen, pty, cut } = options;
  const { scenario, plan } = readJob(program, { setup, seed });
  const image_file = options.image ?? shippedFile('standoff.image');
  const image = readBytes(image_file, 'image');
  readImage(image, image_file);
  const board = await EmulatedBoard.create({
    loader: readBytes(shippedFile('loader.bin'), 'loader'),
    image,
  });
  const table = new PracticeTable(scenario.setup, plan, scenario.seed);
  const box = new PracticeBox(board, table);
  const style = terminalStyle(process.env, process.stdout, options.plain);
  const display = new ProgressDisplay(process.stdout, style);
  const say = (text: string) => display.say(text);
  await box.listen(listen);
  let terminal: PseudoTerminal | undefined;
  const stop = new AbortController();
  let silence = () => {};
  let watching: NodeJS.Timeout | undefined;
  try {
    terminal = pty ? await openPseudoTerminal(box.port) : undefined;
    const address = terminal?.device ?? `tcp://127.0.0.1:${box.port}`;
    say(`An emulated box, and a virtual table that cuts ${scenario.program.name}.`);
    say(`address: ${address}`);
    for (const next of NEXT) say(`next: standoff ${next.replace('PORT', address)}`);
    say(KEYS);
    if (cut) table.cut();
    const state = new StateLine(box);
    watching = setInterval(() => {
      for (const event of state.events()) say(event);
      if (style.live) display.stage(state.text());
    }, SHOW_MS);
    silence = listenToKeys(process.stdin, (key) => {
      if (key === '\x03') process.kill(process.pid, 'SIGINT');
      else if (key === 'q') stop.abort();
      else if (key === 'c') table.cut();
      else if (key === 'p') {
        box.powerCycle();
        say('Power off, and on again.');
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

const NEXT = ['box --port PORT', 'watch --port PORT', 'flash --port PORT'];

/** What an emulated box and its table do, as one line, and what is worth a line of its own. */
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
      ...((digital_outputs & OUTPUT_LATCHED_STOP) !== 0 ? ['latched stop OPEN'] : []),
      `Z ${on(OUTPUT_Z_OWNED, 'the box', 'the table')}`,
    ].join('  ');
  }

  /** What has happened since the last time. */
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

  /** Only worth a word when this computer is too slow. */
  private pace(): string {
    const { now_ms } = this.box;
    const wall_ms = performance.now();
    const pace = (now_ms - this.before_ms) / (wall_ms - this.before_wall_ms);
    this.before_ms = now_ms;
    this.before_wall_ms = wall_ms;
    return pace < 0.9 ? ` at ${pace.toFixed(1)}× real time` : '';
  }
}
