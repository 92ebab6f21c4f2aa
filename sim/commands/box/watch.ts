import { drawSeenFrame, type LiveEnd, Stage, type TerminalStyle, terminalStyle } from '../../views/terminal/index.js';
import { asciiText, wrapText } from '../../views/terminal/text.js';
import { EXIT, interruptible } from '../base/exit.js';
import { checkEnding, refuseExisting } from '../base/files.js';
import { WatchLink } from './watch-link.js';
import type { WatchOptions } from './watch-options.js';
import { WatchText } from './watch-text.js';
import { Watched } from './watched.js';

/** What has been gathered is handed on this often, ms: no picture is older. */
const FLUSH_MS = 50;
/** And written to the disk this often, ms. */
const SAVE_MS = 1000;

/**
 * Watches a box until somebody ends it.
 * @returns the exit status
 * @throws StandoffError for bad input, or when there is no box at the start
 */
export async function watch(options: WatchOptions): Promise<number> {
  const { save, force } = options;
  if (save !== undefined) checkSave(save, force === true);
  const style = terminalStyle(process.env, process.stdout, options.plain);
  const put = (line: string) => process.stdout.write(`${style.unicode ? line : asciiText(line)}\n`);
  const print = (sentence: string) => {
    for (const line of wrapText(sentence, style.columns, 2)) put(line);
  };
  const text = new WatchText();
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
  const link = new WatchLink({ address: options.port, baud: options.baud, listener: watched });
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

function checkSave(path: string, force: boolean): void {
  checkEnding(`--save ${path}`, path, ['.csv', '.csv.gz']);
  refuseExisting(path, force);
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

/** The picture on the terminal, until q or Ctrl-C. What ends it otherwise is thrown once the terminal is given back. */
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
    const state = { history: watched.history, link: watched.link, frozen: standing };
    return drawSeenFrame(state, { columns: stdout.columns ?? 80, rows: stdout.rows ?? 24 }, style);
  };
  const draw = () => {
    if (watched.is_lost) frozen = undefined;
    stage.screen.draw(frozen ?? frame(false));
  };
  const shown = stage.run({
    keys: (bytes) => {
      if (bytes.includes('\x03')) stage.end('interrupted');
      else if (/q/i.test(bytes)) stage.end('quit');
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

/** What goes wrong in a timer, such as a full disk. */
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
