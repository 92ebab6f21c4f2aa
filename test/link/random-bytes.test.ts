import { describe, expect, it } from 'vitest';
import { SERVICE_ROWS } from '../../firmware/wire/link-rows.js';
import { Random } from '../../sim/base/index.js';
import { stuff } from '../../sim/link/frame.js';
import { crc32, encodeFrame } from '../../sim/link/index.js';
import { FakeBox } from './fake-box.js';
import { slotOf } from './fake-loader.js';
import { inventedImage } from './images.js';

const PIECE = 10_000;
const ROUNDS = 1000;
const PING = SERVICE_ROWS.find(({ name }) => name === 'ping')!.code;
const ping = encodeFrame({ service: PING, status: 0, sequence: 1, payload: new Uint8Array(0) });

describe('ten million random bytes to a box', () => {
  it('change nothing and are not answered, and a frame right after them is', () => {
    const random = new Random(3);
    const box = new FakeBox({ slots: [slotOf(inventedImage(300, 1), 1), undefined] });
    let answers = 0;
    box.onBytes = () => answers++;
    const before = box.snapshot();
    const piece = new Uint8Array(PIECE);
    for (let round = 0; round < ROUNDS; round++) {
      for (let at = 0; at < PIECE; at += 4) {
        const word = random.next_u32();
        piece[at] = word;
        piece[at + 1] = word >>> 8;
        piece[at + 2] = word >>> 16;
        // Ends are more frequent than by chance: more lines are looked at.
        piece[at + 3] = (word >>> 24) & 0x1f ? word >>> 24 : 0;
      }
      box.receive(piece);
    }
    expect(answers).toBe(0);
    expect(box.snapshot()).toBe(before);
    box.receive(Uint8Array.of(0, ...ping));
    expect(answers).toBe(1);
  });
});

describe('a frame of random content with a checksum that is right', () => {
  it('changes nothing where its service is none, or its length is not the one of its service', () => {
    const random = new Random(4);
    const box = new FakeBox({ slots: [slotOf(inventedImage(300, 1), 1), undefined] });
    const known = new Set(SERVICE_ROWS.map(({ code }) => code));
    const state = () =>
      JSON.stringify([JSON.parse(box.snapshot()), null], (key, value) => (key === 'asked' ? 0 : value));
    const before = state();
    for (let round = 0; round < 5000; round++) {
      const service = random.next_u32() & 0xff;
      // One byte is the length of no request.
      const length = known.has(service) ? 1 : random.next_u32() % 200;
      const payload = Uint8Array.from({ length }, () => random.next_u32() & 0xff);
      const body = Uint8Array.of(service, 0, 1, 2, ...payload);
      const crc = new Uint8Array(4);
      new DataView(crc.buffer).setUint32(0, crc32(body), true);
      box.receive(stuff(Uint8Array.of(...body, ...crc)));
    }
    expect(state()).toBe(before);
  });
});
