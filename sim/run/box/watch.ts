import { setTimeout as pause } from 'node:timers/promises';
import { INPUT_KEY } from '../../../firmware/wire/layout.gen.js';
import { BAUD_AT_START, EVENT_ROWS, FRAME_EXTRA } from '../../../firmware/wire/link-rows.js';
import { PARAMETER_ROWS, type ParameterRow, type ParameterValues } from '../../../firmware/wire/parameter-rows.js';
import { StandoffError } from '../../base/index.js';
import {
  agreeSpeed,
  type BoxEvent,
  hasImage,
  type Identity,
  identifyTelling,
  type Line,
  layoutBytes,
  openLine,
  readParameters,
  readRing,
  refuseUnusable,
  Session,
  speedOn,
  writeParameters,
  writeTrim,
} from '../../link/index.js';
import { sameInBox } from '../setup/index.js';
import { f32Text } from '../trace/index.js';
import type { BoxRow } from './recording.js';

/**
 * The parameters in a box as the section `box` of a setup has them: by name, each as the shortest number that the box
 * stores as this one. A box holds 32 bits, and 96.68 is not 96.68000030517578.
 * @throws StandoffError `box-…`, `link-…`
 */
export async function readBox(session: Session): Promise<ParameterValues> {
  const held = Object.entries(await readParameters(session));
  return Object.fromEntries(held.map(([name, value]) => [name, Number(f32Text(Math.fround(value)))]));
}

/** A parameter that will get another value. */
export interface Change {
  readonly row: ParameterRow;
  readonly before: number;
  readonly after: number;
}

/** What differs, in the order of the table; compared as the box stores it. What only one of them has is left out. */
export const changesBetween = (before: ParameterValues, after: ParameterValues): Change[] =>
  PARAMETER_ROWS.flatMap((row) => {
    const [was, will] = [before[row.name], after[row.name]];
    if (was === undefined || will === undefined || sameInBox(was, will)) return [];
    return [{ row, before: was, after: will }];
  });

/**
 * Lets the box check all of the changes together, use them and keep them.
 * @returns the generation of the parameters kept
 * @throws StandoffError `box-…` with the parameter that was refused
 */
export const writeChanges = (session: Session, changes: readonly Change[]): Promise<number> =>
  writeParameters(session, Object.fromEntries(changes.map(({ row, after }) => [row.name, after])));

/** A box that was found, and how its telemetry comes. */
export interface Found {
  readonly identity: Identity;
  readonly parameters: ParameterValues;
  /** Interval of the rows, ticks. */
  readonly every_ms: number;
  /** Speed of the line, bit/s; USB has none. */
  readonly baud: number | undefined;
}

/** Module, firmware and every parameter, as the head of a recorded simulation has them. */
export function traceHead({ identity, parameters, every_ms }: Found): Record<string, string | number> {
  const box = Object.entries(parameters).map(([name, value]) => [`box.${name}`, value] as const);
  return { module_sha256: identity.module_sha256, firmware: identity.version, every_ms, ...Object.fromEntries(box) };
}

/** Called with what happens on the link while a box is watched. */
export interface WatchListener {
  /** The box answers, for the first time or again. */
  found(found: Found): void;
  row(row: BoxRow): void;
  /** Something has happened in the box that its rows do not show. */
  event?(event: BoxEvent): void;
  /** The link is lost; the search for the box begins. */
  lost(reason: string): void;
  /** The search goes on, for a new reason. */
  looking(reason: string): void;
}

/** Which box is watched, over what, and who is told. */
export interface WatchLinkOptions {
  readonly address: string;
  /** Speed to try, bit/s. */
  readonly baud: number;
  readonly listener: WatchListener;
  readonly open?: (address: string) => Promise<Line>;
  readonly again_ms?: number;
  /** Called when the first answer takes more than a second. */
  readonly onSlow?: () => void;
}

/** Ten bits a byte; stuffing and the end of a line are two bytes. */
const ROW_BITS = 10 * (layoutBytes('telemetry') + FRAME_EXTRA + 2);
/** Share of the line for telemetry; the rest is for answers. */
const SHARE = 0.8;
const AGAIN_MS = 500;
/** After this long without a row something is wrong, ms. */
const LOST_MS = 1000;
/** Longest wait for the box to confirm the end, ms: without it the box goes back to BAUD_AT_START by itself. */
const GOOD_BYE_MS = 600;

/** From the row that shows the key on until the box has noted what that means, ms. */
const KEY_NOTED_MS = 50;
/** Of the same turn of the key, or opening of the port, ms. */
const KEY_RECENT_MS = 3000;
/** Events that opening a port may have written before the first row, with some to spare. */
const EVENTS_OF_OPENING = 4;

/** Number that the next event of the box will get. */
async function newestEvent(session: Session): Promise<number> {
  const { values } = await session.ask('events-read', { first: 0xffffffff, count: 0 });
  return values.next as number;
}

/** The shortest interval of rows that a line of this speed can carry, ms. */
export const rowInterval_ms = (baud: number): number => Math.max(1, Math.ceil((1000 * ROW_BITS) / (SHARE * baud)));

/**
 * Keeps the telemetry of a box coming: finds the box, agrees on a speed, notices within a second when it falls silent, and
 * looks for it until it is back. But for the trim, nothing that it asks for changes anything in the box.
 */
export class WatchLink {
  private session: Session | undefined;
  private over = false;
  private end: (reason: string) => void = () => {};

  constructor(private readonly options: WatchLinkOptions) {}

  /**
   * Finds the box, then keeps watching it until `close`.
   * @throws StandoffError when there is no port, no answer or no box at the start
   */
  async run(): Promise<void> {
    const { listener, again_ms = AGAIN_MS } = this.options;
    let known = false;
    let reason = '';
    while (!this.over) {
      try {
        reason = await this.watchOnce();
        known = true;
        if (!this.over) listener.lost(reason);
      } catch (error) {
        if (!(error instanceof StandoffError) || (!known && error.code !== 'box-starting')) throw error;
        // A new fault of the port is news; continued silence is not.
        if (error.code !== 'link-silent' && error.what !== reason) listener.looking(error.what);
        reason = error.what;
      }
      if (!this.over) await pause(again_ms);
    }
  }

  /**
   * Changes the trim, at once and until power-off.
   * @returns the trim in force, V
   * @throws StandoffError `link-lost` while there is no box; `link-silent`, `box-…`
   */
  async trim(trim_V: number): Promise<number> {
    const { session } = this;
    if (session !== undefined) return writeTrim(session, trim_V);
    throw new StandoffError('link-lost', `${this.options.address}: no box was found yet`, 'wait until it is found');
  }

  /** Stops the telemetry, sets the line back to BAUD_AT_START, and closes it. */
  async close(): Promise<void> {
    this.over = true;
    const { session } = this;
    if (session === undefined) return;
    this.end('');
    if (session.lost === '') {
      const good_bye = async () => {
        await session.ask('telemetry', { every_ms: 0 });
        await session.askAnyway('line-speed', { baud: BAUD_AT_START });
      };
      await Promise.race([good_bye().catch(() => {}), pause(GOOD_BYE_MS)]);
    }
    await session.close();
  }

  /** One connection, from its opening to its end. @returns why it ended */
  private async watchOnce(): Promise<string> {
    const { address, baud, listener, open = openLine } = this.options;
    const session = new Session(await open(address));
    this.session = session;
    let silence: NodeJS.Timeout | undefined;
    try {
      const identity = await identifyTelling(session, this.options.onSlow ?? (() => {}));
      if (identity.in_loader) await this.startImage(session, identity);
      const parameters = await readBox(session);
      const agreed = baud === BAUD_AT_START ? baud : await agreeSpeed(session, baud, BAUD_AT_START);
      const speed = speedOn(session.line, agreed);
      const every_ms = speed === undefined ? 1 : rowInterval_ms(speed);
      const ended = new Promise<string>((resolve) => {
        this.end = resolve;
        session.onLost = resolve;
      });
      listener.found({ identity, parameters, every_ms, baud: speed });
      let heard_ms = Date.now();
      let next = Math.max(0, (await newestEvent(session)) - EVENTS_OF_OPENING);
      let key = 0;
      session.onTelemetry = (values) => {
        heard_ms = Date.now();
        const row = values as unknown as BoxRow;
        listener.row(row);
        const key_now = row.digital_inputs & INPUT_KEY;
        if (key === 0 && key_now !== 0) void keyTurned(row.tick);
        key = key_now;
      };
      // The box notes it between two ticks; with the key on already, when the port was opened.
      const keyTurned = async (tick: number) => {
        await pause(KEY_NOTED_MS);
        const events = (await readRing(session, 'events-read', next).catch(() => [])) as unknown as readonly BoxEvent[];
        next += events.length;
        const of_key = events.findLast(({ kind }) => EVENT_ROWS[kind]?.name === 'key-usb');
        if (of_key !== undefined && Math.abs(tick - of_key.tick) < KEY_RECENT_MS) listener.event?.(of_key);
      };
      session.watch();
      await session.ask('telemetry', { every_ms });
      // A box that restarts quickly answers pings, but has forgotten that it is being watched.
      silence = setInterval(() => {
        if (Date.now() - heard_ms > LOST_MS) this.end('the box has stopped sending rows');
      }, LOST_MS / 4);
      return await ended;
    } catch (error) {
      if (this.over) return '';
      throw error;
    } finally {
      clearInterval(silence);
      if (!this.over) await session.close();
    }
  }

  /** A starting box that is asked who it is stays in its loader: this tells it to start its image. */
  private async startImage(session: Session, identity: Identity): Promise<never> {
    if (!hasImage(identity)) refuseUnusable(identity);
    await session.ask('restart');
    throw new StandoffError('box-starting', 'the box is starting', 'try again in a second');
  }
}
