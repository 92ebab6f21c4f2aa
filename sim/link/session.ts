import { ANSWER, SERVICE_ROWS, type ServiceRow, STATUS_ROWS } from '../../firmware/wire/link-rows.js';
import { type CodeOf, StandoffError } from '../base/index.js';
import { encodeFrame, type Frame, FrameDecoder, LINE_MOST } from './frame.js';
import { decodeLayout, encodeLayout, type Records, type Values } from './layout.js';
import { IN_USE, type Line, openLine } from './line.js';

/** What to do when the box refuses, by the name of the status. */
const REMEDIES = {
  unknown: 'the firmware is older or newer than this Standoff: standoff flash brings both to one version',
  length: 'the firmware is older or newer than this Standoff: standoff flash brings both to one version',
  range: 'standoff schema lists the ranges',
  id: 'the firmware has other parameters than this Standoff: standoff flash brings both to one version',
  contradiction: 'standoff simulate with this setup says which parameters contradict each other',
  key: 'turn the arm key off',
  busy: 'wait until the cut is over; a box in a fault is led out by standoff box desk',
  voltage:
    'there must be no voltage at the tap: switch the cutting supply off; if it is off, do not touch the torch. ' +
    'A board without a supply is led out by standoff box desk',
  lockstep: 'wait until the other session has ended',
  'not-begun': 'begin again',
  board: 'use an image for this board',
  format: 'use the loader that belongs to this image',
  'too-long': 'use an image for this board',
  place: 'begin the update again',
  checksum: 'the file or the line has changed a byte: try again, then look at the file',
  incomplete: 'begin the update again',
  flash: 'try again; if it happens again, the chip is worn or damaged',
  wired: 'the trial is for a board that is not wired: take its plugs out',
  'nothing-staged': 'stage values first',
  speed: 'use a lower speed',
  hash: 'use the image that came with Standoff, or build it again: the file or its head was changed',
  'other-host': 'end what the other one does, or unplug it: after a second of silence the box counts it as gone',
} as const satisfies Readonly<Partial<Record<CodeOf<'box'>, string>>>;

const isKnown = (name: string): name is keyof typeof REMEDIES => Object.hasOwn(REMEDIES, name);

/** The box's refusal of a service as an error for a person. */
export function refusalOf(service: string, status: number): StandoffError {
  const row = STATUS_ROWS[status];
  const name = row?.name ?? '';
  const meaning = row?.meaning ?? `status ${status}, which this Standoff does not know`;
  return new StandoffError(
    isKnown(name) ? `box-${name}` : 'box-unknown-status',
    `the box refuses ${service}: ${meaning}`,
    isKnown(name) ? REMEDIES[name] : 'standoff flash brings firmware and Standoff to one version',
  );
}

/** What the box answered. */
export interface Answer {
  readonly status: number;
  readonly values: Values;
  readonly records: readonly Values[];
}

/** A row of the stream, and how many rows before it were lost. */
type StreamListener = (values: Values, lost_before: number) => void;

/** How long to wait for an answer. */
export interface Patience {
  /** Wait before the request is sent again, on top of the time that the line needs, ms. */
  readonly answer_ms: number;
  /** Times that a request is sent. */
  readonly tries: number;
  /** Each wait is as long as the first; otherwise the n-th is n times as long. */
  readonly steady?: boolean;
}

/** How long a session waits for what. */
export interface SessionTimes extends Patience {
  /** A ping goes out after this long without a request, ms. */
  readonly ping_ms: number;
  /** Silence after which the link counts as lost, ms. */
  readonly lost_ms: number;
}

export const SESSION_TIMES: SessionTimes = { answer_ms: 250, tries: 4, ping_ms: 250, lost_ms: 1000 };

interface Waiting {
  readonly row: ServiceRow;
  readonly patience: Patience;
  readonly bytes: Uint8Array;
  readonly resolve: (answer: Answer) => void;
  readonly reject: (error: Error) => void;
  timer: NodeJS.Timeout;
  tries: number;
}

/** A timer later than this shows that the process did not run, ms. */
const LATE_MS = 100;
const BY_NAME = new Map(SERVICE_ROWS.map((row) => [row.name, row]));
const BY_CODE = new Map(SERVICE_ROWS.map((row) => [row.code, row]));

/**
 * Requests and answers over a line. Requests are idempotent: one whose answer does not come is sent again, and an answer
 * that comes twice is ignored the second time. Several may be under way.
 */
export class Session {
  /** Called with each row of telemetry. */
  onTelemetry: StreamListener = () => {};
  /** Called once, when the link is lost: silence for lost_ms, or the line has closed. */
  onLost: (reason: string) => void = () => {};
  /** Rows of telemetry that were lost. */
  lost_rows = 0;
  /** Why the link was lost; empty while it stands. */
  lost = '';

  private readonly decoder = new FrameDecoder();
  /** Bytes and whole frames so far. */
  private came = 0;
  private frames = 0;
  private readonly waiting = new Map<number, Waiting>();
  private sequence = Math.floor(Math.random() * 0x10000);
  private stream_next = -1;
  private heard_ms = performance.now();
  private sent_ms = performance.now();
  /** Bytes of the requests without an answer so far. */
  private unanswered = 0;
  private heartbeat: NodeJS.Timeout | undefined;

  constructor(
    readonly line: Line,
    private readonly times: SessionTimes = SESSION_TIMES,
    /** Opens the same port again, after it went with a restart of the box. */
    readonly openPort: () => Promise<Line> = () => openLine(line.address),
  ) {
    line.onBytes = (bytes) => {
      this.came += bytes.length;
      for (const frame of this.decoder.take(bytes)) this.frame(frame);
    };
    line.onClosed = (reason) => this.lose(reason);
  }

  /** Lines that were not a whole frame. */
  get refused(): number {
    return this.decoder.refused;
  }

  /** Requests without an answer so far. */
  get under_way(): number {
    return this.waiting.size;
  }

  /** From now on an idle link is pinged, and silence means a lost link. */
  watch(): void {
    if (this.lost !== '') return;
    this.heard_ms = performance.now();
    this.planBeat();
  }

  /** Until the next `watch`, silence is allowed. @returns whether it was being watched */
  unwatch(): boolean {
    const watched = this.heartbeat !== undefined;
    clearTimeout(this.heartbeat);
    this.heartbeat = undefined;
    return watched;
  }

  /**
   * Asks, and waits for the answer.
   * @throws StandoffError `box-…` with the box's reason; `link-silent` when no answer comes; `link-lost`
   */
  async ask(service: string, values: Values = {}, records: Records = [], patience?: Patience): Promise<Answer> {
    const answer = await this.askAnyway(service, values, records, patience);
    if (answer.status !== 0) throw refusalOf(service, answer.status);
    return answer;
  }

  /**
   * As `ask`, but a refusal is an answer like any other.
   * @throws StandoffError `service-unknown`, `link-silent`, `link-lost`
   */
  askAnyway(
    service: string,
    values: Values = {},
    records: Records = [],
    patience: Patience = this.times,
  ): Promise<Answer> {
    const row = BY_NAME.get(service);
    if (row === undefined) {
      const remedy = `give one of ${SERVICE_ROWS.map(({ name }) => name).join(', ')}`;
      throw new StandoffError('service-unknown', `the box has no service ${service}`, remedy);
    }
    const payload = row.request === '' ? new Uint8Array(0) : encodeLayout(row.request, values, records);
    if (this.lost !== '') return Promise.reject(lostError(this.line.address, this.lost));
    // 0 belongs to the heartbeat.
    do this.sequence = (this.sequence + 1) & 0xffff;
    while (this.sequence === 0 || this.waiting.has(this.sequence));
    const sequence = this.sequence;
    const bytes = encodeFrame({ service: row.code, status: 0, sequence, payload });
    return new Promise<Answer>((resolve, reject) => {
      this.unanswered += bytes.length;
      const timer = setTimeout(() => this.again(sequence), this.wait_ms(patience, 1));
      this.waiting.set(sequence, { row, patience, bytes, resolve, reject, timer, tries: 1 });
      this.send(bytes);
    });
  }

  /** Ends the session and closes the line. */
  async close(): Promise<void> {
    this.stop('the session was ended');
    await this.line.close();
  }

  private send(bytes: Uint8Array): void {
    this.sent_ms = performance.now();
    this.line.write(bytes);
  }

  /** Ten bits a byte: everything unanswered goes first, and the answer may be long. */
  private wait_ms({ answer_ms, steady }: Patience, tries: number): number {
    const line_ms = (10_000 * (this.unanswered + LINE_MOST)) / this.line.baud;
    // Each wait is longer than the last, so that a slow line is not made slower.
    return line_ms + answer_ms * (steady ? 1 : tries);
  }

  /** The request is over, answered or not. */
  private settle(sequence: number, { timer, bytes }: Waiting): void {
    clearTimeout(timer);
    this.waiting.delete(sequence);
    this.unanswered -= bytes.length;
  }

  private again(sequence: number): void {
    const request = this.waiting.get(sequence);
    if (request === undefined) return;
    if (request.tries >= request.patience.tries) {
      this.settle(sequence, request);
      request.reject(silentError(this.line.address, request.row.name, this.frames === 0 ? this.came : 0));
      return;
    }
    request.tries++;
    request.timer = setTimeout(() => this.again(sequence), this.wait_ms(request.patience, request.tries));
    this.send(request.bytes);
  }

  private frame(frame: Frame): void {
    this.frames++;
    this.heard_ms = performance.now();
    const row = BY_CODE.get(frame.service & ~ANSWER);
    if ((frame.service & ANSWER) === 0 || row === undefined) return;
    if (row.name === 'telemetry-row') {
      this.streamRow(frame);
      return;
    }
    const request = this.waiting.get(frame.sequence);
    // It is late, repeated, or for another session.
    if (request === undefined || request.row !== row) return;
    const empty = { values: {}, records: [] };
    const read = frame.status !== 0 && frame.payload.length === 0 ? empty : decodeAnswer(row, frame.payload);
    if (read === undefined) return;
    this.settle(frame.sequence, request);
    // A new stream has its own numbers.
    if (row.name === 'telemetry') this.stream_next = -1;
    request.resolve({ status: frame.status, ...read });
  }

  private streamRow({ sequence, payload }: Frame): void {
    const read = decodeLayout('telemetry', payload);
    if (read === undefined) return;
    const lost = this.stream_next < 0 ? 0 : (sequence - this.stream_next) & 0xffff;
    this.stream_next = sequence + 1;
    this.lost_rows += lost;
    this.onTelemetry(read.values, lost);
  }

  /** The next beat is when a ping or the loss is due, whichever comes first. */
  private planBeat(): void {
    const { ping_ms, lost_ms } = this.times;
    const due_ms = Math.min(this.sent_ms + ping_ms, this.heard_ms + lost_ms);
    clearTimeout(this.heartbeat);
    this.heartbeat = setTimeout(() => this.beat(due_ms), Math.max(0, due_ms - performance.now()));
  }

  private beat(due_ms: number): void {
    const { ping_ms, lost_ms } = this.times;
    const now_ms = performance.now();
    // This process was busy or asleep: what has arrived since has not been read yet.
    if (now_ms - due_ms > LATE_MS) this.heard_ms = Math.max(this.heard_ms, now_ms - lost_ms + LATE_MS);
    if (now_ms - this.heard_ms >= lost_ms) {
      this.lose(`nothing was heard for ${lost_ms / 1000} s`);
      return;
    }
    if (now_ms - this.sent_ms >= ping_ms) {
      this.send(
        encodeFrame({ service: BY_NAME.get('ping')!.code, status: 0, sequence: 0, payload: new Uint8Array(0) }),
      );
    }
    this.planBeat();
  }

  private lose(reason: string): void {
    if (this.lost !== '') return;
    this.stop(reason);
    this.onLost(reason);
  }

  private stop(reason: string): void {
    if (this.lost === '') this.lost = reason;
    this.unwatch();
    for (const [sequence, request] of this.waiting) {
      this.settle(sequence, request);
      request.reject(lostError(this.line.address, reason));
    }
  }
}

function decodeAnswer(row: ServiceRow, payload: Uint8Array) {
  if (row.answer !== '') return decodeLayout(row.answer, payload);
  return payload.length === 0 ? { values: {}, records: [] } : undefined;
}

const lostError = (address: string, reason: string) =>
  new StandoffError(
    'link-lost',
    `the link to ${address} is lost: ${reason}`,
    reason.startsWith(IN_USE)
      ? 'end the other program: the line has room for one'
      : 'check plug, cable and power of the box, then try again',
  );

/** @param came bytes that came without a whole frame among them; 0: none, or frames came before */
const silentError = (address: string, service: string, came: number) =>
  came === 0
    ? new StandoffError(
        'link-silent',
        `${address} is silent: no answer to ${service}`,
        'is it the right port, has the box power, are the two wires of the line crossed? standoff ports asks all ports',
      )
    : new StandoffError(
        'link-silent',
        `${address} sends, but not as a box does: ${came} bytes came and no whole frame among them`,
        'end the other program that has this port open, or name the right port: standoff ports asks all of them',
      );
