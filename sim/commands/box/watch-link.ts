import { setTimeout as pause } from 'node:timers/promises';
import { BAUD_AT_START, FRAME_EXTRA } from '../../../firmware/wire/link-rows.js';
import type { ParameterValues } from '../../../firmware/wire/parameter-rows.js';
import { StandoffError } from '../../base/index.js';
import {
  agreeSpeed,
  type Identity,
  type Line,
  layoutBytes,
  openLine,
  readIdentity,
  readParameters,
  Session,
} from '../../link/index.js';
import { hasImage, refuseLoader } from './port.js';
import type { TelemetryRow } from './telemetry.js';

/** A box that has been found, and how its telemetry comes. */
export interface Found {
  readonly identity: Identity;
  readonly parameters: ParameterValues;
  /** A row every so many ticks. */
  readonly every_ms: number;
  readonly baud: number;
}

/** What happens on the link while a box is watched. */
export interface WatchListener {
  /** The box answers; for the first time, or again. */
  found(found: Found): void;
  row(row: TelemetryRow): void;
  /** The link is lost; the box is looked for. */
  lost(reason: string): void;
  /** It has not been found yet, for another reason than before. */
  looking(reason: string): void;
}

export interface WatchLinkOptions {
  readonly address: string;
  /** Speed to try, bit/s. */
  readonly baud: number;
  readonly listener: WatchListener;
  readonly open?: (address: string) => Promise<Line>;
  readonly again_ms?: number;
}

/** Ten bits a byte; stuffing and the end of a line are two bytes. */
const ROW_BITS = 10 * (layoutBytes('telemetry') + FRAME_EXTRA + 2);
/** Of the line for telemetry; the rest is for answers. */
const SHARE = 0.8;
const AGAIN_MS = 500;
/** Without a row for this long something is wrong, ms. */
const LOST_MS = 1000;
/** A box that does not answer the good-bye is left as it is: it goes back to the speed of a start by itself. */
const GOOD_BYE_MS = 600;

/** The least interval of rows that a line of this speed has room for, ms. */
export const rowInterval_ms = (baud: number): number => Math.max(1, Math.ceil((1000 * ROW_BITS) / (SHARE * baud)));

/**
 * Keeps the telemetry of a box coming: finds it, agrees on a speed, notices within a second when it falls silent, and looks
 * for it until it is there again. Asks for nothing that changes anything in the box.
 */
export class WatchLink {
  private session: Session | undefined;
  private over = false;
  private end: (reason: string) => void = () => {};

  constructor(private readonly options: WatchLinkOptions) {}

  /**
   * Finds the box for the first time, then keeps looking after it until `close`.
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
        // What is wrong with the port is news; that it is still silent is not.
        if (error.code !== 'link-silent' && error.what !== reason) listener.looking(error.what);
        reason = error.what;
      }
      if (!this.over) await pause(again_ms);
    }
  }

  /** Stops the telemetry, gives the line back at the speed of a start, and closes it. */
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
      const identity = await readIdentity(session);
      if (identity.in_loader) await this.startImage(session, identity);
      const parameters = await readParameters(session);
      const agreed = baud === BAUD_AT_START ? baud : await agreeSpeed(session, baud, BAUD_AT_START);
      const every_ms = rowInterval_ms(agreed);
      const ended = new Promise<string>((resolve) => {
        this.end = resolve;
        session.onLost = resolve;
      });
      listener.found({ identity, parameters, every_ms, baud: agreed });
      let heard_ms = Date.now();
      session.onTelemetry = (values) => {
        heard_ms = Date.now();
        listener.row(values as unknown as TelemetryRow);
      };
      session.watch();
      await session.ask('telemetry', { every_ms });
      // A box that starts again quickly answers again and has forgotten that somebody is watching.
      silence = setInterval(() => {
        if (Date.now() - heard_ms > LOST_MS) this.end('the box sends no rows any more');
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

  /** A starting box that is asked who it is stays in its loader: it is told to go on. */
  private async startImage(session: Session, identity: Identity): Promise<never> {
    if (!hasImage(identity)) refuseLoader(identity);
    await session.ask('restart');
    throw new StandoffError('box-starting', 'the box is starting', 'try again in a second');
  }
}
