import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest';
import { FakeBox } from './fake-box.js';
import { slotOf } from './fake-loader.js';
import { delivered, flashed, NEW, newestOf, OLD } from './flashing.js';

beforeEach(() => {
  vi.useFakeTimers();
});
afterEach(() => {
  vi.useRealTimers();
});

describe('flashing', () => {
  it('brings the image into the other slot, starts it, and says who answers then', async () => {
    const box = delivered();
    const { result, progress, lines } = await flashed(box);
    expect(result).toMatchObject({ slot: 1, generation: 2, reconnects: 0, baud: 921600 });
    expect(result!.after).toMatchObject({ in_loader: false, boot: 'update', version: NEW.version });
    expect(result!.after.module_sha256).toBe(NEW.module_sha256);
    expect(newestOf(box)).toBe(NEW);
    expect(box.slots[0]!.generation).toBe(1);
    expect(lines).toHaveLength(1);
    expect(lines[0].closed).toBe(true);
    expect(lines[0].baud).toBe(115200);
    expect(new Set(progress.map(({ phase }) => phase))).toEqual(
      new Set(['ask', 'wait-for-loader', 'send', 'write', 'restart']),
    );
  });

  it('tells bytes that never go back and end with all of them', async () => {
    const { progress } = await flashed(delivered());
    const sent = progress.map((step) => step.sent);
    expect(sent).toEqual(sent.toSorted((a, b) => a - b));
    expect(sent.at(-1)).toBe(NEW.body.length);
    for (const { left_s, bytes_per_s, length } of progress) {
      expect(length).toBe(NEW.body.length);
      expect(left_s).toBeGreaterThanOrEqual(0);
      expect(bytes_per_s).toBeGreaterThanOrEqual(0);
    }
    expect(progress.some(({ bytes_per_s }) => bytes_per_s > 0)).toBe(true);
  });

  it('begins at the loader when that is who answers, as in a box without an image', async () => {
    const box = new FakeBox();
    box.restart();
    await vi.advanceTimersByTimeAsync(100);
    const { result } = await flashed(box);
    expect(result).toMatchObject({ slot: 0, generation: 1 });
    expect(box.asked).not.toContain('loader-enter');
  });

  it('is told to the person when nobody answers, and catches the loader once the box is switched on', async () => {
    const box = delivered();
    box.stop();
    const onNoAnswer = vi.fn(() => {
      setTimeout(() => box.restart(), 3000);
    });
    const { result } = await flashed(box, [{}], { onNoAnswer });
    expect(onNoAnswer).toHaveBeenCalledOnce();
    expect(result).toMatchObject({ slot: 1 });
    expect(box.asked).not.toContain('loader-enter');
  });

  it.each(Array.from({ length: 15 }, (_, k) => 10 * k))(
    'catches the loader whenever the box starts: %i ms after a question',
    async (after_ms) => {
      const box = delivered();
      box.stop();
      setTimeout(() => box.restart(), 2000 + after_ms);
      await flashed(box, [{ delay_ms: 8 }]);
      expect(box.asked).not.toContain('loader-enter');
      expect(newestOf(box)).toBe(NEW);
    },
  );

  it('gives up with what to do when nobody answers at all', async () => {
    const box = delivered();
    box.stop();
    const { error, lines } = await flashed(box);
    expect(error).toMatchObject({ code: 'flash-no-loader' });
    expect(error!.remedy).toContain('press its reset');
    expect(lines).toHaveLength(1);
  });

  it.each([
    ['key_on', true, 'box-key'],
    ['at_rest', false, 'box-busy'],
    ['in_lockstep', true, 'box-lockstep'],
  ] as const)('is refused with the reason while %s is %s, and changes nothing', async (name, value, code) => {
    const box = delivered();
    box.app[name] = value;
    const { error } = await flashed(box);
    expect(error).toMatchObject({ code });
    expect([newestOf(box), box.starts, box.state]).toEqual([OLD, 0, 'box']);
  });

  it.each([
    ['arc_voltage', true],
    ['fault', 2],
  ] as const)('passes over %s in the desk state, and says so', async (name, value) => {
    const box = delivered();
    Object.assign(box.app, { [name]: value });
    const said: string[] = [];
    const { error } = await flashed(box, [{}], { onDesk: (sentence) => said.push(sentence) });
    expect(error).toBeUndefined();
    expect(said).toEqual([expect.stringMatching(/^The box stands in .* until the new image starts/)]);
    expect(box.asked).toContain('desk-begin');
  });

  it('goes on from the beginning with a box whose power was gone in the middle, the line still up', async () => {
    const box = delivered();
    let gone = false;
    const { error, result } = await flashed(box, [{ delay_ms: 2 }], {
      onProgress: ({ phase, sent }) => {
        if (phase !== 'send' || sent < 2000 || gone) return;
        gone = true;
        box.restart();
      },
    });
    expect(error).toBeUndefined();
    expect(result).toMatchObject({ reconnects: 1, after: { in_loader: false, image_sha256: NEW.image_sha256 } });
  });

  it('is refused at the end too when the key has been turned on meanwhile', async () => {
    const box = delivered({ busy_polls: 0 });
    const { error } = await flashed(box, [{}], {
      onProgress: ({ phase }) => {
        if (phase === 'write') box.app.key_on = true;
      },
    });
    expect(error).toMatchObject({ code: 'box-key' });
    expect(newestOf(box)).toBe(OLD);
  });

  it('can be broken off, and the box keeps its image', async () => {
    const box = delivered();
    const stop = new AbortController();
    const { error } = await flashed(box, [{ delay_ms: 5 }], {
      signal: stop.signal,
      onProgress: ({ phase }) => phase === 'send' && stop.abort(),
    });
    expect(error).toMatchObject({ code: 'flash-stopped' });
    expect(newestOf(box)).toBe(OLD);
  });

  it('says so when the image is there but does not start, and there is none to go back to', async () => {
    const box = new FakeBox({ fails_generation: 1 });
    box.restart();
    await vi.advanceTimersByTimeAsync(100);
    const { error } = await flashed(box);
    expect(error).toMatchObject({ code: 'flash-not-started' });
    expect(error!.what).toContain('failed three times');
  });

  it('ends with the image before when the new one fails, and tells what it runs with', async () => {
    const box = delivered({ fails_generation: 2, origin: 'withheld' });
    const { result, error } = await flashed(box);
    expect(error).toBeUndefined();
    expect(result!.after).toMatchObject({ in_loader: false, boot: 'rolled-back', image_sha256: OLD.image_sha256 });
    expect(result).toMatchObject({ slot: 1, written: true, compared: true });
    expect(result!.running).toMatchObject({ slot: 0, runs: true, origin: 'withheld' });
  });

  it('compares the SHA-256 that the box computes with that of the image, and does not start another one', async () => {
    const spoils = (body: Uint8Array) =>
      body.length === NEW.body.length ? body.map((byte, at) => (at === 7 ? byte ^ 1 : byte)) : body;
    const box = delivered({ spoils });
    const { error } = await flashed(box);
    expect(error).toMatchObject({ code: 'flash-hash' });
    expect(error!.what).toContain(NEW.image_sha256);
    expect(box.asked).not.toContain('restart');
  });

  it('writes nothing, and restarts nothing, when the box runs this image and finds it whole', async () => {
    const box = new FakeBox({ slots: [slotOf(NEW, 4), undefined] });
    const { result } = await flashed(box);
    expect(result).toMatchObject({ written: false, compared: true, slot: 0, generation: 4 });
    expect([box.starts, box.asked.some((service) => service.startsWith('update'))]).toEqual([0, false]);
  });

  it('lets the loader say so when it is the loader that answers', async () => {
    const box = new FakeBox({ slots: [slotOf(NEW, 4), undefined] });
    box.restart('loader', 'loader');
    await vi.advanceTimersByTimeAsync(100);
    const { result } = await flashed(box);
    expect(result).toMatchObject({ written: false, slot: 0, generation: 4, after: { in_loader: false } });
    expect(box.asked).not.toContain('update-write');
  });

  it('writes the image again when what the box runs is no longer what its head names', async () => {
    const spoils = (body: Uint8Array) => (body === slots[0].body ? body.map((byte) => byte ^ 1) : body);
    const slots = [slotOf({ ...NEW, head: { ...NEW.head, version: 'other' } }, 4)];
    const box = new FakeBox({ slots: [slots[0], undefined], spoils });
    const { result } = await flashed(box);
    expect(result).toMatchObject({ written: true, slot: 1, generation: 5 });
  });

  it('goes on with a box that is too old to compute a SHA-256, and says that nothing was compared', async () => {
    const box = delivered({ old: true });
    const { result } = await flashed(box);
    expect(result).toMatchObject({ written: true, compared: false, after: { image_sha256: NEW.image_sha256 } });
    expect(result!.running).toBeUndefined();
  });

  it('goes on at the speed of a start when the line bears no other, or the box wants none', async () => {
    for (const [box, line] of [
      [delivered(), { most_baud: 500_000 }],
      [delivered({ most_baud: 500_000 }), {}],
    ] as const) {
      const { result } = await flashed(box, [line]);
      expect(result).toMatchObject({ baud: 115200, reconnects: 0 });
      expect(newestOf(box)).toBe(NEW);
    }
  });
});
