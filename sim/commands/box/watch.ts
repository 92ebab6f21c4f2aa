import { Command } from '@commander-js/extra-typings';
import { INPUT_KEY } from '../../../firmware/wire/layout.gen.js';
import { WatchLink } from '../../run/box/index.js';
import type { TraceBlock } from '../../run/trace/index.js';
import { drawFrame, type LiveEnd, Stage, statusLine, trimWords, type ViewHistory } from '../../views/terminal/index.js';
import { asciiText, fixed, type TerminalStyle, terminalStyle, wrapText } from '../../views/text/index.js';
import { EXIT, interruptible } from '../base/command-line.js';
import { checkEnding, refuseExisting } from '../base/files.js';
import { baudOption, followPort, portOption, stillAsking } from './port.js';
import { Watched } from './watched.js';

/** What a key changes the trim by, V. */
const TRIM_STEP_V = 0.5;

export const watchCommand = () =>
  new Command('watch')
    .description(
      'Shows what a box measures, believes and does, as it happens: on a terminal the picture of simulate, as far as a ' +
        'box knows it; elsewhere plain lines. A lost link is searched for until it is back. Watching changes nothing in ' +
        'the box; in the picture + and - change the trim, as standoff box trim does.',
    )
    .addOption(portOption())
    .option('--save <file>', 'record every row as .csv or .csv.gz, in the format of simulate --trace')
    .option('--force', 'write over an existing file')
    .addOption(baudOption())
    .option('--plain', 'ASCII only, without colour')
    .addHelpText(
      'after',
      '\nBelow 921600 bit/s a serial line cannot carry every tick; a row then comes every few ticks.' +
        '\nExit status: 0 ended with q, 2 bad input or no box, 130 ended with Ctrl-C. A recording is whole either way.',
    );

type WatchOptions = ReturnType<ReturnType<typeof watchCommand>['opts']>;

const S_MS = 1000;

/** A watched box as plain lines: one for each change, and one each second in between. */
class WatchText {
  private state = '';
  private said_tick = Number.NEGATIVE_INFINITY;

  /** @param trim_V the one in force */
  constructor(private readonly trim_V: () => number) {}

  /** Lines for a block that the history has already taken. */
  lines(block: TraceBlock, history: ViewHistory): string[] {
    const last = block.count - 1;
    if (last < 0) return [];
    const state = [block.mode, block.hold, block.fault, block.refusal].map((column) => column[last]).join();
    const key = block.digital_inputs[last] & INPUT_KEY;
    const tick = block.first_tick + last;
    const due = tick - this.said_tick >= S_MS || tick < this.said_tick;
    if (`${state},${key}` === this.state && !due) return [];
    this.state = `${state},${key}`;
    this.said_tick = tick;
    const figures = `${fixed(block.measured_V[last], 1)} V, target ${fixed(block.target_V[last], 1)}${trimWords(this.trim_V())}`;
    const words = statusLine(history).text.replace(/\.$/, '');
    return [`${(tick / S_MS).toFixed(3).padStart(10)} s  ${figures}  ${words}, key ${key === 0 ? 'off' : 'on'}`];
  }
}

/** How often the rows so far are handed on, ms: no picture is older. */
const FLUSH_MS = 50;
/** How often they are written to the disk, ms. */
const SAVE_MS = 1000;

/**
 * Watches a box until somebody ends it.
 * @returns the exit status
 * @throws StandoffError for bad input, or when there is no box at the start
 */
export async function watch(options: WatchOptions): Promise<number> {
  const { save, force } = options;
  if (save !== undefined) {
    checkEnding(`--save ${save}`, save, ['.csv', '.csv.gz']);
    refuseExisting(save, force === true);
  }
  const style = terminalStyle(process.env, process.stdout, options.plain);
  const put = (line: string) => process.stdout.write(`${style.unicode ? line : asciiText(line)}\n`);
  const print = (sentence: string) => {
    for (const line of wrapText(sentence, style.columns, 2)) put(line);
  };
  const text = new WatchText(() => watched.history.scene.trim_V);
  const said: string[] = [];
  const say = (sentence: string) => {
    if (style.live) said.push(sentence);
    else print(sentence);
  };
  const watched: Watched = new Watched({
    address: options.port,
    save,
    force,
    say,
    block: (block) => {
      if (!style.live) for (const line of text.lines(block, watched.history)) put(line);
    },
  });
  const link = new WatchLink({
    address: options.port,
    baud: options.baud,
    listener: watched,
    open: followPort(say),
    onSlow: stillAsking(options.port),
  });
  const disk = new Failure();
  const timers = [
    setInterval(() => disk.guard(() => watched.flush()), FLUSH_MS),
    setInterval(() => disk.guard(() => watched.save()), SAVE_MS),
  ];
  let ended: LiveEnd;
  try {
    const watching = style.live ? onStage(link, watched, style, disk.happened) : onPipe(link);
    ended = await Promise.race([watching, disk.happened]);
  } finally {
    for (const timer of timers) clearInterval(timer);
    await link.close();
    watched.close();
  }
  for (const sentence of said) print(sentence);
  print(`Watched: ${watched.countWords}.`);
  const { saved } = watched;
  if (saved) print(`Saved: ${saved.rows} rows in ${saved.files.join(', ')}.`);
  return ended === 'interrupted' ? EXIT.interrupted : EXIT.kept;
}

/** Until Ctrl-C. */
async function onPipe(link: WatchLink): Promise<LiveEnd> {
  const ended = await interruptible(async (signal) => {
    signal.addEventListener('abort', () => void link.close());
    await link.run();
    return signal.aborted ? undefined : ('finished' as const);
  });
  return ended ?? 'interrupted';
}

/** The picture on the terminal, until q or Ctrl-C. Anything else that ends it is thrown after the terminal is restored. */
async function onStage(
  link: WatchLink,
  watched: Watched,
  style: TerminalStyle,
  failure: Promise<never>,
): Promise<LiveEnd> {
  const { stdin, stdout } = process;
  const stage = new Stage({ stdin, stdout });
  let frozen: string[] | undefined;
  const frame = (standing: boolean) => {
    const state = { history: watched.history, progress: watched.link, paused: standing };
    return drawFrame(state, { columns: stdout.columns ?? 80, rows: stdout.rows ?? 24 }, style);
  };
  const draw = () => {
    if (watched.is_lost) frozen = undefined;
    stage.screen.draw(frozen ?? frame(false));
  };
  const shown = stage.run({
    keys: (bytes) => {
      if (bytes.includes('\x03')) stage.end('interrupted');
      else if (/q/i.test(bytes)) stage.end('quit');
      else if (/^[+-]/.test(bytes)) void watched.trim(link, bytes.startsWith('+') ? TRIM_STEP_V : -TRIM_STEP_V);
      else if (bytes.includes(' ')) frozen = frozen === undefined ? frame(true) : undefined;
    },
    frame: draw,
    resize: () => {
      frozen = undefined;
      draw();
    },
  });
  try {
    return await Promise.race([shown, link.run().then((): LiveEnd => 'finished'), failure]);
  } finally {
    stage.end('quit');
    await shown;
  }
}

/** What fails in a timer, such as a full disk, for whoever waits for it. */
class Failure {
  private fail: (error: unknown) => void = () => {};
  readonly happened = new Promise<never>((_, reject) => {
    this.fail = reject;
  });

  guard(work: () => void): void {
    try {
      work();
    } catch (error) {
      this.fail(error);
    }
  }
}
