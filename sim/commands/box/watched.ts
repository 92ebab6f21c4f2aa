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
  type WatchListener,
} from '../../run/box/index.js';
import { boxWarnings } from '../../run/setup/index.js';
import type { TraceBlock } from '../../run/trace/index.js';
import { type BoxScene, type Said, ViewHistory } from '../../views/terminal/index.js';
import { counted, TONE_ALARM, TONE_PLAIN } from '../../views/text/index.js';

export interface WatchedOptions {
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
