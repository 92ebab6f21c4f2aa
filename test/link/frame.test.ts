import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { PAYLOAD_MOST } from '../../firmware/wire/link-rows.js';
import { Random } from '../../sim/base/index.js';
import { stuff, unstuff } from '../../sim/link/frame.js';
import { encodeFrame, type Frame, FrameDecoder, LINE_MOST } from '../../sim/link/index.js';

const bytes = (most: number) => fc.uint8Array({ maxLength: most });
/** Zeros and ones make the longest and the shortest blocks. */
const runs = fc
  .array(fc.tuple(fc.constantFrom(0, 1, 255), fc.integer({ min: 1, max: 300 })), { maxLength: 5 })
  .map((list) => Uint8Array.from(list.flatMap(([byte, count]) => new Array<number>(count).fill(byte))));
const frame = fc.record({
  service: fc.integer({ min: 0, max: 255 }),
  status: fc.integer({ min: 0, max: 255 }),
  sequence: fc.integer({ min: 0, max: 65535 }),
  payload: fc.oneof(
    bytes(PAYLOAD_MOST),
    runs.map((run) => run.subarray(0, PAYLOAD_MOST)),
  ),
});

describe('stuffing', () => {
  it('leaves no 0 but the end, adds at most one byte for each 254 begun, and comes out again', () => {
    fc.assert(
      fc.property(fc.oneof(bytes(1000), runs), (given) => {
        const line = stuff(given);
        expect(line.indexOf(0)).toBe(line.length - 1);
        expect(line.length).toBeLessThanOrEqual(given.length + Math.floor(given.length / 254) + 2);
        expect(unstuff(line.subarray(0, -1))).toEqual(given);
      }),
    );
  });
});

describe('unstuffing', () => {
  it.each([
    ['a code that announces more than there is', [5, 1, 2, 3]],
    ['a code of 0', [2, 1, 0, 1]],
    ['a code alone', [2]],
  ])('refuses %s', (_, line) => {
    expect(unstuff(Uint8Array.from(line))).toBeUndefined();
  });
});

describe('a frame', () => {
  it('comes out as it went in, whatever the pieces that its line arrives in', () => {
    fc.assert(
      fc.property(
        fc.array(frame, { minLength: 1, maxLength: 4 }),
        fc.integer({ min: 1, max: 400 }),
        (frames, piece) => {
          const line = Buffer.concat(frames.map(encodeFrame));
          const decoder = new FrameDecoder();
          const found: Frame[] = [];
          for (let at = 0; at < line.length; at += piece) found.push(...decoder.take(line.subarray(at, at + piece)));
          expect(found).toEqual(frames);
          expect(decoder.refused).toBe(0);
        },
      ),
    );
  });

  it('has a line that fits, for the longest payload of any kind', () => {
    for (const byte of [0, 1, 255]) {
      const line = encodeFrame({
        service: 1,
        status: 1,
        sequence: 257,
        payload: new Uint8Array(PAYLOAD_MOST).fill(byte),
      });
      expect(line.length).toBeLessThanOrEqual(LINE_MOST);
      expect(new FrameDecoder().take(line)).toHaveLength(1);
    }
    expect(() =>
      encodeFrame({ service: 1, status: 0, sequence: 0, payload: new Uint8Array(PAYLOAD_MOST + 1) }),
    ).toThrow(RangeError);
  });

  const random = new Random(11);
  const samples = [0, 1, 7, 64, 256, PAYLOAD_MOST].map((length) =>
    encodeFrame({
      service: 22,
      status: 0,
      sequence: 513,
      payload: Uint8Array.from({ length }, () => (random.chance(0.2) ? 0 : random.next_u32() & 0xff)),
    }),
  );

  it('with any single bit wrong is refused, or seen as the end of another line and refused there', () => {
    let tried = 0;
    for (const line of samples) {
      for (let bit = 0; bit < line.length * 8; bit++) {
        const wrong = line.slice();
        wrong[bit >> 3] ^= 1 << (bit & 7);
        const decoder = new FrameDecoder();
        expect(decoder.take(wrong)).toEqual([]);
        // The line after it is heard again.
        expect(decoder.take(Buffer.concat([Uint8Array.of(0), samples[1]]))).toHaveLength(1);
        tried++;
      }
    }
    expect(tried).toBeGreaterThan(5000);
  });

  it('right behind a line that is too long belongs to that line and is refused with it', () => {
    for (let length = LINE_MOST - 5; length < LINE_MOST + 5; length++) {
      const decoder = new FrameDecoder();
      expect(decoder.take(Buffer.concat([new Uint8Array(length).fill(7), samples[1]])), `${length} bytes`).toEqual([]);
      expect(decoder.refused).toBe(1);
      expect(decoder.take(samples[1])).toHaveLength(1);
    }
  });

  it('cut off anywhere is refused, and so is one whose beginning is missing', () => {
    for (const line of samples) {
      for (let at = 1; at < line.length - 1; at++) {
        const end = new FrameDecoder();
        expect(end.take(Buffer.concat([line.subarray(0, at), Uint8Array.of(0)]))).toEqual([]);
        expect(end.refused).toBe(1);
        expect(new FrameDecoder().take(line.subarray(at))).toEqual([]);
      }
    }
  });
});
