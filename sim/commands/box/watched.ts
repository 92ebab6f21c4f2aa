// What comes from a watched box, in sentences and for the picture. Apart from `watch`, which is about timers, keys and the terminal.
import type { ParameterValues } from '../../../firmware/wire/parameter-rows.js';
import { StandoffError } from '../../base/index.js';
import { requirementContext } from '../../judge/index.js';
import { type BoxEvent, eventText, startWords } from '../../link/index.js';
import {
  type BoxRow,
  type BoxSink,
  type Found,
  type Gap,
  SavedTrace,
  TelemetryBlocks,
  traceHead,
  type WatchLink,
  type WatchListener,
} from '../../run/box/index.js';
import { boxWarnings, sameInBox } from '../../run/setup/index.js';
import type { TraceBlock } from '../../run/trace/index.js';
import { type BoxScene, type Said, ViewHistory } from '../../views/terminal/index.js';
import { asSentence, counted, fixed, TONE_ALARM, TONE_PLAIN } from '../../views/text/index.js';
import { speedWords } from './port.js';

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

/** A watched box as it is told and drawn. */
export class Watched implements WatchListener, BoxSink {
  history: ViewHistory<BoxScene>;
  saved: SavedTrace | undefined;
  private blocks: TelemetryBlocks | undefined;
  private found_now: Found | undefined;
  private lost_for = '';
  /** What came of the last key, and until when it is shown, ms. */
  private answer: Said = { text: '', tone: TONE_PLAIN };
  private answer_until_ms = 0;

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
    say(`${again}: box ${identity.version}, ${rows}${speedWords(baud)}.`);
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

  event(event: BoxEvent): void {
    this.options.say(`CAUTION: ${eventText(event)}.`);
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

  /** Changes the trim by so much. What comes of it is shown, and said when the watching is over. */
  async trim(link: Pick<WatchLink, 'trim'>, by_V: number): Promise<void> {
    const wanted_V = this.history.scene.trim_V + by_V;
    let tone = TONE_PLAIN;
    let text: string;
    try {
      const trim_V = await link.trim(wanted_V);
      this.history.scene = { ...this.history.scene, trim_V };
      const bounded = sameInBox(trim_V, wanted_V) ? '' : ', as low as the least standoff allows';
      text = `trim ${fixed(trim_V, 2)} V in force${bounded}; lost at power-off`;
    } catch (error) {
      if (!(error instanceof StandoffError)) throw error;
      text = `${error.what}: trim ${fixed(this.history.scene.trim_V, 2)} V as it was`;
      tone = TONE_ALARM;
    }
    this.answer = { text, tone };
    this.answer_until_ms = performance.now() + ANSWER_MS;
    this.options.say(asSentence(text));
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
    if (performance.now() < this.answer_until_ms) return this.answer;
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

/** How long what came of it is shown, ms. */
const ANSWER_MS = 5000;

const rateWords = ({ every_ms }: Found): string => (every_ms === 1 ? 'every tick' : `every ${every_ms} ms`);

const secondsAt = (tick: number): string => (tick / 1000).toFixed(3);

function gapWords({ number, rows, after_tick, before_tick }: Gap): string {
  const between = `between ${secondsAt(after_tick)} and ${secondsAt(before_tick)} s`;
  return `Gap ${number}: ${counted(rows, 'row')} lost ${between}.`;
}

function sceneOf(address: string, box: ParameterValues): BoxScene {
  const { cut_height_mm = Number.NaN, pierce_height_mm = Number.NaN, z_steps_per_mm = 1, trim_V = 0 } = box;
  const { goals } = requirementContext(box, { relay_release_ms: 0 });
  return { address, cut_height_mm, pierce_height_mm, z_steps_per_mm, trim_V, tolerance_mm: goals.following_p999_mm };
}

/** The same history, or a new one where the parameters that it is drawn with have changed; the trim is only told. */
function withScene(history: ViewHistory<BoxScene>, scene: BoxScene): ViewHistory<BoxScene> {
  const drawn = (Object.keys(scene) as (keyof BoxScene)[]).filter((key) => key !== 'trim_V');
  if (drawn.some((key) => scene[key] !== history.scene[key])) return new ViewHistory(scene);
  history.scene = scene;
  return history;
}
