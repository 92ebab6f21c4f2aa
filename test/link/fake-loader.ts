import { boardNumber } from '../../firmware/ports/rp2040/board-rows.js';
import { FORMAT_NUMBER_ROWS, numberOf } from '../../firmware/wire/number-rows.js';
import { crc32, encodeLayout, type Image, type Values } from '../../sim/link/index.js';
import { type FakeAnswer, refused } from './fake-answer.js';

/** An image in a slot. */
export interface FakeSlot {
  readonly head: Values;
  readonly body: Uint8Array;
  readonly generation: number;
  /** The box went back from it. */
  readonly given_up?: boolean;
}

/** The loader's part of an update: as firmware/loader does it, without a flash chip. */
export class FakeUpdate {
  private head: Values | undefined;
  private body = new Uint8Array(0);
  private received = 0;
  private slot = 0;
  private generation = 0;
  private polls = 0;
  done = false;

  constructor(
    readonly slots: (FakeSlot | undefined)[],
    /** Times that update-finish is answered busy. */
    private readonly busy_polls: number,
  ) {}

  /** Number of the slot that holds the newest image; 255 for none. */
  get newest(): number {
    const generations = this.slots.map((slot) => (slot?.given_up ? 0 : (slot?.generation ?? 0)));
    return generations.every((generation) => generation === 0) ? 255 : generations.indexOf(Math.max(...generations));
  }

  begin(head: Values, key_on: boolean): FakeAnswer {
    if (key_on) return this.refuse('key');
    if (head.board !== boardNumber('BOARD_KIND')) return this.refuse('board');
    if (head.format !== numberOf(FORMAT_NUMBER_ROWS, 'IMAGE_FORMAT')) return this.refuse('format');
    if ((head.length as number) > boardNumber('BODY_MOST')) return this.refuse('too-long');
    const boots = this.slots[this.newest];
    if (boots !== undefined && sameHead(boots.head, head)) {
      this.head = head;
      this.slot = this.newest;
      this.generation = boots.generation;
      this.received = boots.body.length;
      this.done = true;
      return this.state();
    }
    if (this.head === undefined || this.done || !sameHead(this.head, head)) {
      this.head = head;
      this.body = new Uint8Array(head.length as number);
      this.received = 0;
      this.polls = 0;
      this.done = false;
      this.slot = this.newest === 0 ? 1 : 0;
      this.generation = Math.max(0, ...this.slots.map((slot) => slot?.generation ?? 0)) + 1;
      this.slots[this.slot] = undefined;
    }
    return this.state();
  }

  write(offset: number, bytes: Uint8Array): FakeAnswer {
    if (this.head === undefined) return this.refuse('not-begun');
    if (offset > this.received) return this.refuse('place');
    if (offset + bytes.length > this.body.length) return this.refuse('too-long');
    // What is known already is not written again, as in the loader.
    for (let k = this.received - offset; k < bytes.length; k++) this.body[offset + k] = bytes[k];
    this.received = Math.max(this.received, offset + bytes.length);
    return this.state();
  }

  finish(key_on: boolean): FakeAnswer {
    if (this.head === undefined) return this.refuse('not-begun');
    if (this.done) return this.state();
    if (key_on) return this.refuse('key');
    if (this.received < this.body.length) return this.refuse('incomplete');
    if (crc32(this.body) !== this.head.body_crc) {
      this.head = undefined;
      return this.refuse('checksum');
    }
    if (this.polls++ < this.busy_polls) return this.refuse('busy');
    this.slots[this.slot] = { head: this.head, body: this.body.slice(), generation: this.generation };
    this.done = true;
    return this.state();
  }

  private state(): FakeAnswer {
    const { slot, received, generation } = this;
    return { values: { slot, received, written: received, generation } };
  }

  private refuse(name: string): FakeAnswer {
    return { ...refused(name), ...this.state() };
  }
}

const sameHead = (left: Values, right: Values) =>
  Buffer.compare(encodeLayout('image_head', left), encodeLayout('image_head', right)) === 0;

/** The slot of a box that was delivered with an image. */
export const slotOf = ({ head, body }: Image, generation: number): FakeSlot => ({ head, body, generation });
