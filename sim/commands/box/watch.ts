import { Command } from '@commander-js/extra-typings';
import { INPUT_KEY } from '../../../firmware/wire/layout.gen.js';
import type { ParameterValues } from '../../../firmware/wire/parameter-rows.js';
import { requirementContext } from '../../judge/index.js';
import { startWords } from '../../link/index.js';
import {
  type BoxRow,
  type BoxSink,
  type Found,
  type Gap,
  SavedTrace,
  TelemetryBlocks,
  traceHead,
  WatchLink,
  type WatchListener,
} from '../../run/box/index.js';
import { boxWarnings } from '../../run/setup/index.js';
import type { TraceBlock } from '../../run/trace/index.js';
import {
  type BoxScene,
  drawFrame,
  type LiveEnd,
  type Said,
  Stage,
  statusLine,
  ViewHistory,
} from '../../views/terminal/index.js';
import {
  asciiText,
  counted,
  fixed,
  type TerminalStyle,
  TONE_ALARM,
  TONE_PLAIN,
  terminalStyle,
  wrapText,
} from '../../views/text/index.js';
import { EXIT, interruptible } from '../base/command-line.js';
import { checkEnding, refuseExisting } from '../base/files.js';
import { baudOption, portOption } from './port.js';

interface WatchedOptions {
  readonly address: string;
  /** File to record in. */
  readonly save?: string | undefined;
  readonly force?: boolean | undefined;
  /** Called with what happens besides rows, one sentence each. */
  readonly say: (text: string) => void;
  /** Called with each block of rows. */
  readonly block?: (block: TraceBlock) => void;
}

/**
 * What comes from a watched box, in sentences and for the picture. It stands alone because `watch` itself is about timers,
 * keys and the terminal.
 */
export class Watched implements WatchListener, BoxSink {
  history: ViewHistory<BoxScene>;
  saved: SavedTrace | undefined;
  private blocks: TelemetryBlocks | undefined;
  private found_now: Found | undefined;
  private lost_for = '';

  constructor(private readonly options: WatchedOptions) {
    this.history = new ViewHistory(sceneOf(options.address, {}));
  }

  found(found: Found): void {
    const { say, save, force, address } = this.options;
    const { identity, parameters, every_ms, baud } = found;
    const again = this.found_now === undefined ? 'Watching' : 'Found again';
    this.lost_for = '';
    this.found_now = found;
    const rows = every_ms === 1 ? 'every tick' : `a row every ${every_ms} ms`;
    say(`${again}: box ${identity.version}, ${rows} at ${baud} bit/s.`);
    for (const warning of boxWarnings(parameters)) say(warning);
    if (this.blocks === undefined) {
      if (save !== undefined) this.saved = new SavedTrace(save, traceHead(found), force === true);
      this.blocks = new TelemetryBlocks(every_ms, this.saved ? [this, this.saved] : [this]);
    } else this.blocks.resume(identity.tick, every_ms);
    this.history = withScene(this.history, sceneOf(address, parameters));
  }

  row(row: BoxRow): void {
    const gap = this.blocks?.add(row);
    if (gap) this.options.say(gapWords(gap));
  }

  lost(reason: string): void {
    this.flush();
    this.lost_for = reason;
    const { last_tick = -1 } = this.blocks ?? {};
    const at = last_tick < 0 ? '' : ` after ${secondsAt(last_tick)} s`;
    this.options.say(`LINK LOST${at}: ${reason}. The box goes on without it; looking for it ...`);
  }

  looking(reason: string): void {
    this.lost_for = reason;
    this.options.say(`Still looking: ${reason}.`);
  }

  block(block: TraceBlock): void {
    this.history.add(block);
    this.options.block?.(block);
  }

  restart(): void {
    const why = this.found_now ? `: ${startWords(this.found_now.identity)}` : '';
    this.options.say(`The box has started again${why}.`);
    this.history = new ViewHistory(this.history.scene);
  }

  /** Hands on the rows so far. */
  flush(): void {
    this.blocks?.flush();
  }

  /** Writes everything to the disk. */
  save(): void {
    this.flush();
    this.saved?.flush();
  }

  close(): void {
    this.flush();
    this.saved?.close();
  }

  get is_lost(): boolean {
    return this.lost_for !== '';
  }

  /** How the link is, for the picture. */
  get link(): Said {
    const { found_now, lost_for, blocks } = this;
    if (found_now === undefined || blocks === undefined) return { text: 'looking for the box', tone: TONE_PLAIN };
    if (lost_for !== '') return { text: `LINK LOST: ${lost_for}; looking for it`, tone: TONE_ALARM };
    const [warning] = boxWarnings(found_now.parameters);
    if (warning !== undefined) return { text: warning, tone: TONE_ALARM };
    const saved = this.saved ? `, saved in ${this.saved.files.at(-1)}` : '';
    return { text: `${rateWords(found_now)}: ${this.countWords}${saved}`, tone: TONE_PLAIN };
  }

  /** `12 000 rows, 2 gaps (31 rows lost)`. */
  get countWords(): string {
    const { rows = 0, gaps = 0, lost_rows = 0 } = this.blocks ?? {};
    const lost = gaps === 0 ? 'no gap' : `${counted(gaps, 'gap')} (${counted(lost_rows, 'row')} lost)`;
    return `${counted(rows, 'row')}, ${lost}`;
  }
}

const rateWords = ({ every_ms }: Found): string => (every_ms === 1 ? 'every tick' : `every ${every_ms} ms`);

const secondsAt = (tick: number): string => (tick / 1000).toFixed(3);

function gapWords({ number, rows, after_tick, before_tick }: Gap): string {
  const between = `between ${secondsAt(after_tick)} and ${secondsAt(before_tick)} s`;
  return `Gap ${number}: ${counted(rows, 'row')} lost ${between}.`;
}

function sceneOf(address: string, box: ParameterValues): BoxScene {
  const { cut_height_mm = Number.NaN, pierce_height_mm = Number.NaN, z_steps_per_mm = 1 } = box;
  const { goals } = requirementContext(box, { relay_release_ms: 0 });
  return { address, cut_height_mm, pierce_height_mm, z_steps_per_mm, tolerance_mm: goals.following_p999_mm };
}

/** The same history, or a new one where the parameters that it is drawn with have changed. */
function withScene(history: ViewHistory<BoxScene>, scene: BoxScene): ViewHistory<BoxScene> {
  const same = (Object.keys(scene) as (keyof BoxScene)[]).every((key) => scene[key] === history.scene[key]);
  return same ? history : new ViewHistory(scene);
}

export const watchCommand = () =>
  new Command('watch')
    .description(
      'Shows what a box measures, believes and does, as it happens: on a terminal the picture of simulate, as far as a ' +
        'box knows it; elsewhere plain lines. A lost link is searched for until it is back. Watching changes nothing in ' +
        'the box.',
    )
    .addOption(portOption())
    .option('--save <file>', 'record every row as .csv or .csv.gz, in the format of simulate --trace')
    .option('--force', 'write over an existing file')
    .addOption(baudOption())
    .option('--plain', 'ASCII only, without colour')
    .addHelpText(
      'after',
      '\nBelow 921600 bit/s the line cannot carry every tick; a row then comes every few ticks.' +
        '\nExit status: 0 ended with q, 2 bad input or no box, 130 ended with Ctrl-C. A recording is whole either way.',
    );

type WatchOptions = ReturnType<ReturnType<typeof watchCommand>['opts']>;

const S_MS = 1000;

/** A watched box as plain lines: one for each change, and one each second in between. */
class WatchText {
  private state = '';
  private said_tick = Number.NEGATIVE_INFINITY;

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
    const figures = `${fixed(block.measured_V[last], 1)} V, target ${fixed(block.target_V[last], 1)}`;
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

/** A failure in a timer, such as a full disk. */
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
