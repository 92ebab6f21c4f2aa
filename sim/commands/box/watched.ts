import type { ParameterValues } from '../../../firmware/wire/parameter-rows.js';
import { requirementContext } from '../../judge/index.js';
import { boxWarnings } from '../../run/setup/index.js';
import type { TraceBlock, TraceSink } from '../../run/trace/index.js';
import { SeenHistory, type SeenScene, type SeenState } from '../../views/terminal/index.js';
import { TONE_ALARM, TONE_PLAIN } from '../../views/terminal/picture.js';
import { counted } from '../../views/terminal/text.js';
import { startWords } from './identity-text.js';
import { tidyF32 } from './parameter-text.js';
import { SavedTrace } from './saved-trace.js';
import { type Gap, TelemetryBlocks, type TelemetryRow } from './telemetry.js';
import type { Found, WatchListener } from './watch-link.js';

export interface WatchedOptions {
  readonly address: string;
  /** File to record in. */
  readonly save?: string | undefined;
  readonly force?: boolean | undefined;
  /** Told what happens besides rows: in words, one sentence each. */
  readonly say: (text: string) => void;
  /** Told about each block of rows. */
  readonly block?: (block: TraceBlock) => void;
}

/** What comes from a watched box: counted, recorded, and kept for the picture. */
export class Watched implements WatchListener, TraceSink {
  history: SeenHistory;
  saved: SavedTrace | undefined;
  private blocks: TelemetryBlocks | undefined;
  private found_now: Found | undefined;
  private lost_for = '';
  private last_tick = -1;
  private last_row_ms = 0;

  constructor(private readonly options: WatchedOptions) {
    this.history = new SeenHistory(sceneOf(options.address, {}));
  }

  found(found: Found): void {
    const { options, found_now } = this;
    const { identity, parameters, every_ms, baud } = found;
    this.lost_for = '';
    this.found_now = found;
    const rows = every_ms === 1 ? 'every tick' : `every ${every_ms} ms a row`;
    const again = found_now === undefined ? 'Watching' : 'Found again';
    options.say(`${again}: box ${identity.version}, ${rows} at ${baud} bit/s.`);
    for (const warning of boxWarnings(parameters)) options.say(warning);
    if (this.blocks === undefined) {
      if (options.save !== undefined) {
        this.saved = new SavedTrace(options.save, headOf(found), options.force === true);
      }
      this.blocks = new TelemetryBlocks(every_ms, [this]);
    } else {
      this.flush();
      this.blocks.every_ms = every_ms;
      // A box that has gone on is older than the silence; its ticks may still have overtaken those of before.
      const silent_ms = Date.now() - this.last_row_ms;
      if (this.last_tick >= 0 && (identity.tick <= this.last_tick || identity.tick < silent_ms)) this.startAnew();
    }
    this.history = withScene(this.history, sceneOf(options.address, parameters));
  }

  row(row: TelemetryRow): void {
    this.last_row_ms = Date.now();
    const gap = this.blocks?.add(row);
    if (gap) this.options.say(gapWords(gap));
  }

  lost(reason: string): void {
    this.flush();
    this.lost_for = reason;
    const at = this.last_tick < 0 ? '' : ` after ${secondsAt(this.last_tick)} s`;
    this.options.say(`LINK LOST${at}: ${reason}. The box goes on without it; looking for it ...`);
  }

  looking(reason: string): void {
    this.lost_for = reason;
    this.options.say(`Still looking: ${reason}.`);
  }

  /** Takes in what has been gathered. */
  block(block: TraceBlock): void {
    const { options } = this;
    if (block.first_tick <= this.last_tick) this.startAnew();
    this.last_tick = block.first_tick + block.count - 1;
    this.history.add(block);
    this.saved?.block(block);
    options.block?.(block);
  }

  /** The box's ticks count from the beginning again. */
  private startAnew(): void {
    const why = this.found_now ? `: ${startWords(this.found_now.identity)}` : '';
    this.options.say(`The box has started again${why}.`);
    this.history = new SeenHistory(this.history.scene);
    this.blocks?.startAnew();
    this.saved?.startAnew();
    this.last_tick = -1;
  }

  /** Hands on what has been gathered. */
  flush(): void {
    this.blocks?.flush();
  }

  /** Brings everything to the disk. */
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
  get link(): SeenState['link'] {
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

/** Module, firmware and every parameter, as the trace of a simulated run has them. */
function headOf({ identity, parameters, every_ms }: Found): Record<string, string | number> {
  const values = Object.entries(parameters).map(([name, value]) => [`box.${name}`, tidyF32(value)] as const);
  const { module_sha256, version } = identity;
  return { module_sha256, firmware: version, every_ms, ...Object.fromEntries(values) };
}

function sceneOf(address: string, box: ParameterValues): SeenScene {
  const { cut_height_mm = Number.NaN, pierce_height_mm = Number.NaN, z_steps_per_mm = 1 } = box;
  const { tolerances } = requirementContext(box, { relay_release_ms: 0 });
  return { address, cut_height_mm, pierce_height_mm, z_steps_per_mm, tolerance_mm: tolerances.following_p999_mm };
}

/** The picture goes on with other parameters. */
function withScene(history: SeenHistory, scene: SeenScene): SeenHistory {
  const same = (Object.keys(scene) as (keyof SeenScene)[]).every((key) => scene[key] === history.scene[key]);
  return same ? history : new SeenHistory(scene);
}
