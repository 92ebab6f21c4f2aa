import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest';
import { ANSWER, SERVICE_ROWS } from '../../firmware/wire/link-rows.js';
import { Random } from '../../sim/base/index.js';
import { FrameDecoder } from '../../sim/link/index.js';
import { type FakeLineOptions, PULL } from './fake-line.js';
import { FakeUpdate } from './fake-loader.js';
import { delivered, flashed, NEW, newestOf, OLD } from './flashing.js';

beforeEach(() => {
  vi.useFakeTimers();
});
afterEach(() => {
  vi.useRealTimers();
  vi.restoreAllMocks();
});

/** Name of the service that a line from the box answers. */
function serviceOf(line: Uint8Array): string | undefined {
  const [frame] = new FrameDecoder().take(line);
  return SERVICE_ROWS.find(({ code }) => frame !== undefined && code === (frame.service & ~ANSWER))?.name;
}

/** Every so many bytes: no divisor of a frame, so that over the cuts every place in a frame comes up. */
const STEP = 37;

describe('a plug that is pulled and put in again', () => {
  it.each([
    ['cut_to_box', 'to_box'],
    ['cut_from_box', 'from_box'],
  ] as const)('at every 37th byte (%s) costs neither the image nor the box', async (cut_end, counted) => {
    const whole = await flashed(delivered(), [{ delay_ms: 2 }]);
    const length = whole.lines[0][counted];
    let resumed = 0;
    for (let cut = 1; cut < length; cut += STEP) {
      const box = delivered();
      const { result, error } = await flashed(box, [{ delay_ms: 2, [cut_end]: cut }, { delay_ms: 2 }]);
      // Before the box has said who it is, a port that fails is taken for the wrong one.
      if (error !== undefined) {
        expect([error.code, newestOf(box)], `cut at ${cut}`).toEqual(['link-lost', OLD]);
        continue;
      }
      resumed++;
      expect(newestOf(box), `cut at ${cut}`).toBe(NEW);
      expect(result!.after).toMatchObject({ in_loader: false, image_sha256: NEW.image_sha256 });
      expect(result!.reconnects).toBe(1);
      // An image that was marked is not brought in once more, over the one that ran before.
      expect(box.slots[0]!.body, `cut at ${cut}`).toEqual(OLD.body);
    }
    expect(resumed).toBeGreaterThan((0.7 * length) / STEP);
  });

  it('goes on with the bytes that the loader has not got yet', async () => {
    const offsets: number[] = [];
    const write = FakeUpdate.prototype.write;
    vi.spyOn(FakeUpdate.prototype, 'write').mockImplementation(function (this: FakeUpdate, offset, bytes) {
      offsets.push(offset);
      return write.call(this, offset, bytes);
    });
    for (const cut_to_box of [1200, 1700, 2300, 2900]) {
      offsets.length = 0;
      await flashed(delivered(), [{ delay_ms: 2, cut_to_box }, { delay_ms: 2 }]);
      // On a line that loses nothing else, each piece arrives once.
      expect(offsets).toEqual(Array.from({ length: Math.ceil(NEW.body.length / 256) }, (_, piece) => 256 * piece));
    }
  });

  it('before anybody has answered is told at once: it may be the wrong port', async () => {
    const { error, lines } = await flashed(delivered(), [{ cut_from_box: 20 }, {}]);
    expect(error).toMatchObject({ code: 'link-lost' });
    expect(lines).toHaveLength(1);
  });

  it('while the box starts the new image ends with that image, and no further start', async () => {
    const box = delivered();
    const lines: FakeLineOptions[] = [
      { fromBox: (bytes) => (serviceOf(bytes) === 'restart' ? PULL : [bytes]), delay_ms: 2 },
      { delay_ms: 2 },
    ];
    const { result } = await flashed(box, lines);
    expect(result).toMatchObject({ reconnects: 1, generation: 2, after: { in_loader: false } });
    // Into the loader, and into the image.
    expect(box.starts).toBe(2);
  });

  it('between the mark and its answer ends with that image, brought in once', async () => {
    const box = delivered({ busy_polls: 0 });
    const lines: FakeLineOptions[] = [
      { fromBox: (bytes) => (serviceOf(bytes) === 'update-finish' ? PULL : [bytes]), delay_ms: 2 },
      { delay_ms: 2 },
    ];
    const { result } = await flashed(box, lines);
    expect(result).toMatchObject({ reconnects: 1, slot: 1, generation: 2, after: { in_loader: false } });
    expect(box.asked.filter((service) => service === 'update-begin')).toHaveLength(1);
  });

  it('again and again is told with the number of breaks, and the box starts the image that it had', async () => {
    const box = delivered();
    const { error, lines } = await flashed(box, [{ delay_ms: 2, cut_to_box: 900 }], { reconnects: 3 });
    expect(error).toMatchObject({ code: 'flash-broken' });
    expect(error!.what).toContain('the link broke 4 times');
    expect(lines).toHaveLength(4);
    expect(newestOf(box)).toBe(OLD);
  });
});

describe('a line that does not bear its speed', () => {
  it('for frames of more than 100 bytes is used at the speed of a start in the end', async () => {
    const box = delivered();
    // The fault does not know the speed, the box does.
    const toBox = (bytes: Uint8Array) => (box.baud > 115200 && bytes.length > 100 ? [] : [bytes]);
    // The head of an image is longer than that as well.
    const { result } = await flashed(box, [{ toBox, delay_ms: 2 }]);
    expect(result).toMatchObject({ baud: 115200, reconnects: 2, after: { image_sha256: NEW.image_sha256 } });
  });
});

describe('a line that loses its answer to', () => {
  it.each(['loader-enter', 'restart'])('%s is no failure: who answers next tells', async (service) => {
    const box = delivered();
    const fromBox = (bytes: Uint8Array) => (serviceOf(bytes) === service ? [] : [bytes]);
    const { result } = await flashed(box, [{ fromBox, delay_ms: 2 }]);
    expect(result).toMatchObject({ reconnects: 0, after: { in_loader: false, image_sha256: NEW.image_sha256 } });
  });
});

describe('a line that loses, changes, doubles and reorders', () => {
  /** One of the four happens to this share of the frames, each. */
  function bad(share: number, random: Random) {
    let held: Uint8Array[] = [];
    return (bytes: Uint8Array): readonly Uint8Array[] => {
      if (random.chance(share)) return [];
      if (random.chance(share)) {
        const wrong = bytes.slice();
        wrong[random.next_u32() % wrong.length] ^= 1 << (random.next_u32() % 8);
        return [wrong];
      }
      if (random.chance(share)) return [bytes, bytes];
      if (random.chance(share)) {
        held.push(bytes);
        return [];
      }
      const out = [bytes, ...held];
      held = [];
      return out;
    };
  }

  it.each([0.02, 0.1, 0.2])('a share of %s of its frames, each way, brings the image whole', async (share) => {
    const random = new Random(5);
    for (let round = 0; round < 10; round++) {
      const box = delivered();
      const line = { delay_ms: 3, toBox: bad(share, random), fromBox: bad(share, random) };
      const { result, error } = await flashed(box, [line]);
      expect(error?.message ?? 'done', `round ${round}`).toBe('done');
      expect(result!.after).toMatchObject({ in_loader: false, image_sha256: NEW.image_sha256 });
      expect(newestOf(box)).toBe(NEW);
    }
  });
});
