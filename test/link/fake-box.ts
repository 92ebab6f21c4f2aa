import { createHash } from 'node:crypto';
import { boardNumber } from '../../firmware/ports/rp2040/board-rows.js';
import {
  ANSWER,
  BAUD_AT_START,
  BOOT_ROWS,
  ORIGIN_ROWS,
  SERVICE_ROWS,
  SLOT_ROWS,
} from '../../firmware/wire/link-rows.js';
import { FORMAT_NUMBER_ROWS, numberOf } from '../../firmware/wire/number-rows.js';
import { PARAMETER_ROWS } from '../../firmware/wire/parameter-rows.js';
import {
  decodeLayout,
  encodeFrame,
  encodeLayout,
  type Frame,
  FrameDecoder,
  layoutBytes,
  type Values,
} from '../../sim/link/index.js';
import { type FakeAnswer, refused } from './fake-answer.js';
import { FakeApp, type FakeModule } from './fake-app.js';
import { type FakeSlot, FakeUpdate } from './fake-loader.js';

const SPEED_BACK_MS = 1000;
const LOADER_IDLE_MS = 10_000;
const LISTEN_MS = 150;
const START_MS = 50;

export interface FakeBoxOptions {
  readonly slots?: readonly (FakeSlot | undefined)[];
  readonly busy_polls?: number;
  readonly module?: FakeModule;
  /** Speeds above this are refused. */
  readonly most_baud?: number;
  /** Images of this generation do not start: the loader goes back to the other one, or takes over again. */
  readonly fails_generation?: number;
  /** Neither loader nor box knows the service `slot`. */
  readonly old?: boolean;
  /** What the chip has made of each body that was written. */
  readonly spoils?: (body: Uint8Array) => Uint8Array;
  /** Where the parameters of the running image come from, ORIGIN_*. */
  readonly origin?: string;
}

/**
 * A box that speaks the link as the real one should: the application's services, the loader's, restarts, speeds and
 * time-outs, on the timers of the test. It has no flash chip, no tick and no pins.
 */
export class FakeBox {
  onBytes: (bytes: Uint8Array) => void = () => {};
  /** off: no power; listen: the loader waits for a call before it starts the image. */
  state: 'off' | 'listen' | 'box' | 'loader' = 'box';
  boot = 'power-up';
  baud = BAUD_AT_START;
  starts = 0;
  /** Requests that came whole, by name. */
  readonly asked: string[] = [];
  readonly app: FakeApp;
  update: FakeUpdate;
  readonly slots: (FakeSlot | undefined)[];
  private readonly decoder = new FrameDecoder();
  private stream_sequence = 0;
  private tick = 0;
  private stream: NodeJS.Timeout | undefined;
  private silence: NodeJS.Timeout | undefined;
  private idle: NodeJS.Timeout | undefined;

  constructor(private readonly options: FakeBoxOptions = {}) {
    this.app = new FakeApp(options.module);
    this.slots = [...(options.slots ?? [undefined, undefined])];
    this.update = new FakeUpdate(this.slots, options.busy_polls ?? 3);
  }

  /** Bytes that came on the line. */
  receive(bytes: Uint8Array): void {
    if (this.state === 'off') return;
    for (const frame of this.decoder.take(bytes)) this.serve(frame);
  }

  /** As a power switch or reset does it: the loader listens, then starts the newest image. */
  restart(boot = 'power-up', straight_to: 'listen' | 'loader' | 'box' = 'listen'): void {
    this.stop();
    this.boot = boot;
    this.app.in_desk = false;
    this.starts++;
    this.update = new FakeUpdate(this.slots, this.options.busy_polls ?? 3);
    const failing = this.slots[this.update.newest];
    let fails = failing !== undefined && failing.generation === this.options.fails_generation;
    const other = this.slots[1 - this.slots.indexOf(failing)];
    if (fails && straight_to !== 'loader' && other !== undefined) {
      this.slots[this.update.newest] = { ...failing!, given_up: true };
      this.boot = 'rolled-back';
      fails = false;
    }
    setTimeout(() => {
      this.state = straight_to;
      if (straight_to === 'loader' || this.update.newest === 255 || fails) this.enterLoader(fails);
      else if (straight_to === 'listen') setTimeout(() => this.state === 'listen' && this.startImage(), LISTEN_MS);
      else this.startImage();
    }, START_MS);
  }

  /** Power goes off; whatever was only in memory is lost. */
  stop(): void {
    this.state = 'off';
    this.baud = BAUD_AT_START;
    this.tick = 0;
    clearInterval(this.stream);
    clearTimeout(this.silence);
    clearTimeout(this.idle);
  }

  /** Everything that frames may change, to compare. */
  snapshot(): string {
    const { state, boot, baud, starts, asked, app, slots, update, tick } = this;
    const listed = (_: string, value: unknown) => (value instanceof Map ? [...value] : value);
    return JSON.stringify({ state, boot, baud, starts, asked, app, slots, update, tick }, listed);
  }

  private startImage(): void {
    this.state = 'box';
  }

  private enterLoader(fails = false): void {
    this.state = 'loader';
    if (fails) this.boot = 'image-fails';
    this.beginIdle();
  }

  private beginIdle(): void {
    clearTimeout(this.idle);
    if (this.state === 'loader' && this.boot !== 'image-fails' && this.update.newest !== 255)
      this.idle = setTimeout(() => this.restart('restart', 'box'), LOADER_IDLE_MS);
  }

  private serve({ service, status, sequence, payload }: Frame): void {
    const row = SERVICE_ROWS.find(({ code }) => code === service);
    if ((service & ANSWER) !== 0 || status !== 0) return;
    if (this.state === 'listen') {
      if (row?.name !== 'identity') return;
      this.enterLoader();
    }
    this.beginIdle();
    this.beginSilence();
    const answer: FakeAnswer = row === undefined ? refused('unknown') : this.answer(row.name, row.request, payload);
    this.asked.push(row?.name ?? `${service}`);
    const empty =
      row === undefined || row.answer === '' || (answer.status !== undefined && answer.values === undefined);
    const bytes = empty ? new Uint8Array(0) : encodeLayout(row.answer, answer.values, answer.records);
    this.send({ service: service | ANSWER, status: answer.status ?? 0, sequence, payload: bytes });
    if (row?.name === 'line-speed' && answer.status === undefined) this.setSpeed(payload);
  }

  private send(frame: Frame): void {
    this.onBytes(encodeFrame(frame));
  }

  private answer(name: string, request: string, payload: Uint8Array): FakeAnswer {
    const fits = request === '' ? payload.length === 0 : decodeLayout(request, payload) !== undefined;
    if (!fits) return refused('length');
    const loader = this.state === 'loader';
    switch (name) {
      case 'identity':
        return { values: this.identity() };
      case 'ping':
        return { values: { tick: this.tick } };
      case 'line-speed': {
        const { values } = decodeLayout('line_speed', payload)!;
        return (values.baud as number) > (this.options.most_baud ?? 2_000_000) ? refused('speed') : { values };
      }
      case 'slot':
        if (this.options.old) return refused('unknown');
        if (this.app.key_on) return refused('key');
        return { values: this.slotValues(decodeLayout('slot_request', payload)!.values.slot as number) };
    }
    return (loader ? this.loaderAnswer(name, payload) : this.appAnswer(name, payload)) ?? refused('unknown');
  }

  private appAnswer(name: string, payload: Uint8Array): FakeAnswer | undefined {
    if (name === 'telemetry') {
      const { values } = decodeLayout('telemetry_request', payload)!;
      this.beginStream(values.every_ms as number);
      return { values };
    }
    if (name === 'restart') {
      if (!this.app.in_desk || this.app.key_on) return refused(this.app.key_on ? 'key' : 'not-begun');
      queueMicrotask(() => this.restart('restart', 'box'));
      return {};
    }
    if (name !== 'loader-enter') return this.app.answer(name, payload);
    const { refusal } = this.app;
    if (refusal !== undefined) return refused(refusal);
    queueMicrotask(() => this.restart('loader', 'loader'));
    return {};
  }

  private loaderAnswer(name: string, payload: Uint8Array): FakeAnswer | undefined {
    const { key_on } = this.app;
    switch (name) {
      case 'update-begin':
        return this.update.begin(decodeLayout('image_head', payload)!.values, key_on);
      case 'update-write': {
        const head = layoutBytes('update_bytes');
        const offset = decodeLayout('update_bytes', payload.subarray(0, head))!.values.offset as number;
        return this.update.write(offset, payload.subarray(head));
      }
      case 'update-finish':
        return this.update.finish(key_on);
      case 'restart':
        queueMicrotask(() => this.restart(this.update.done ? 'update' : 'restart', 'box'));
        return {};
      default:
        return undefined;
    }
  }

  private slotValues(slot: number): Values {
    const image = this.slots[slot];
    const code = (rows: readonly { readonly name: string; readonly code: number }[], wanted: string) =>
      rows.find(({ name }) => name === wanted)!.code;
    if (image === undefined) return { slot, holds: code(SLOT_ROWS, 'empty') };
    const runs = slot === this.update.newest;
    const { version, module_sha256, image_sha256 } = image.head;
    const body = this.options.spoils?.(image.body) ?? image.body;
    return {
      ...{ slot, generation: image.generation, version, module_sha256, image_sha256 },
      holds: code(SLOT_ROWS, image.given_up ? 'failed' : 'valid'),
      runs: runs ? 1 : 0,
      origin: runs ? code(ORIGIN_ROWS, this.options.origin ?? 'own') : 0,
      body_sha256: createHash('sha256').update(body).digest(),
    };
  }

  private identity() {
    const { newest } = this.update;
    const slot = this.slots[newest];
    return {
      protocol: numberOf(FORMAT_NUMBER_ROWS, 'PROTOCOL'),
      board: boardNumber('BOARD_KIND'),
      in_loader: this.state === 'loader' ? 1 : 0,
      boot: BOOT_ROWS.find(({ name }) => name === this.boot)!.code,
      slot: newest,
      generation: slot?.generation ?? 0,
      parameter_generation: this.app.kept_generation,
      parameter_count: PARAMETER_ROWS.length,
      tick: this.tick,
      chip_id: this.app.chip_id,
      cycles_per_ms: boardNumber('CLOCK_HZ') / 1000,
      ...(slot && {
        version: slot.head.version,
        module_sha256: slot.head.module_sha256,
        image_sha256: slot.head.image_sha256,
      }),
    };
  }

  private beginStream(every_ms: number): void {
    clearInterval(this.stream);
    if (every_ms === 0) return;
    let due_ms = Date.now() + every_ms;
    // A busy process is called late; the ticks of a box follow the clock all the same.
    this.stream = setInterval(() => {
      for (; due_ms <= Date.now(); due_ms += every_ms) this.sendRow(every_ms);
    }, every_ms);
  }

  private sendRow(every_ms: number): void {
    this.tick += every_ms;
    const payload = encodeLayout('telemetry', { tick: this.tick, mode: 1 });
    const service = SERVICE_ROWS.find(({ name }) => name === 'telemetry-row')!.code | ANSWER;
    this.send({ service, status: 0, sequence: this.stream_sequence, payload });
    this.stream_sequence = (this.stream_sequence + 1) & 0xffff;
  }

  /** After the answer, as the box does it. */
  private setSpeed(payload: Uint8Array): void {
    const baud = decodeLayout('line_speed', payload)!.values.baud as number;
    queueMicrotask(() => {
      this.baud = baud;
      this.beginSilence();
    });
  }

  private beginSilence(): void {
    clearTimeout(this.silence);
    if (this.baud === BAUD_AT_START) return;
    this.silence = setTimeout(() => {
      this.baud = BAUD_AT_START;
    }, SPEED_BACK_MS);
  }
}
