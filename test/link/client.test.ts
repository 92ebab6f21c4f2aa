import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest';
import { PARAMETER_ROWS } from '../../firmware/wire/parameter-rows.js';
import { StandoffError } from '../../sim/base/index.js';
import {
  readIdentity,
  readParameters,
  readReadings,
  readRing,
  refuseUnusable,
  Session,
  writeParameters,
  writeTrim,
} from '../../sim/link/index.js';
import { FakeBox } from './fake-box.js';
import { FakeLine } from './fake-line.js';
import { slotOf } from './fake-loader.js';
import { inventedImage } from './images.js';

beforeEach(() => {
  vi.useFakeTimers();
});
afterEach(() => {
  vi.useRealTimers();
});

const IMAGE = inventedImage(500, 1);

function connected() {
  const box = new FakeBox({ slots: [undefined, slotOf(IMAGE, 4)] });
  return { box, session: new Session(new FakeLine(box)) };
}

describe('the identity of a box', () => {
  it('comes with the reason of its start by name and its hashes as hex', async () => {
    const { box, session } = connected();
    box.boot = 'hung';
    const identity = await readIdentity(session);
    expect(identity).toMatchObject({ in_loader: false, boot: 'hung', slot: 1, generation: 4, version: 'test 1' });
    expect(identity.module_sha256).toBe(IMAGE.module_sha256);
    expect(identity.image_sha256).toMatch(/^[0-9a-f]{64}$/);
  });

  it('is refused with both versions and what to do when the box speaks another version of the link', async () => {
    const identity = await readIdentity(connected().session);
    expect(() => refuseUnusable(identity)).not.toThrow();
    const old = { ...identity, protocol: identity.protocol - 1 };
    expect(() => refuseUnusable(old)).toThrow(
      `version ${old.protocol} of the link, this Standoff version ${identity.protocol}`,
    );
    expect(() => refuseUnusable(old)).toThrow(expect.objectContaining({ code: 'box-version' }));
    // A loader takes an image whatever the box spoke.
    expect(() => refuseUnusable({ ...old, in_loader: true })).toThrow(
      expect.objectContaining({ code: 'box-in-loader' }),
    );
  });
});

describe('the parameters of a box', () => {
  it('are read, all of them, in several frames', async () => {
    const { box, session } = connected();
    const values = await readParameters(session);
    expect(Object.keys(values).toSorted()).toEqual(PARAMETER_ROWS.map(({ name }) => name).toSorted());
    for (const { name, id } of PARAMETER_ROWS) expect(values[name]).toBe(box.app.parameters.get(id));
    expect(box.asked.filter((service) => service === 'parameters-read').length).toBeGreaterThan(1);
  });

  it('are put aside, checked together and kept', async () => {
    const { box, session } = connected();
    const wanted = Object.fromEntries(PARAMETER_ROWS.map(({ name, min }) => [name, Math.fround(min)]));
    expect(await writeParameters(session, wanted)).toBe(1);
    expect(await readParameters(session)).toEqual(wanted);
    expect(box.asked.indexOf('parameters-check')).toBeGreaterThan(box.asked.lastIndexOf('parameters-stage'));
    expect(box.asked.indexOf('parameters-commit')).toBeGreaterThan(box.asked.indexOf('parameters-check'));
  });

  it('have one, the trim, that changes with the key on and is not kept', async () => {
    const { box, session } = connected();
    box.app.key_on = true;
    expect(await writeTrim(session, 0.5)).toBe(0.5);
    expect((await readParameters(session)).trim_V).toBe(0.5);
    // The one in force, not the one that was asked for.
    expect(await writeTrim(session, -9)).toBe(-3);
    await expect(writeTrim(session, 10.5)).rejects.toMatchObject({ code: 'box-range' });
    expect((await readParameters(session)).trim_V).toBe(-3);
    expect([box.app.kept_generation, box.asked.includes('parameters-stage')]).toEqual([0, false]);
  });

  it('that contradict each other are named both, with the value of the one that the box has already', async () => {
    const { box, session } = connected();
    const id = (name: string) => PARAMETER_ROWS.find((row) => row.name === name)!.id;
    box.app.contradicts = [id('target_V'), id('arc_high_V')];
    box.app.parameters.set(id('arc_high_V'), 130);
    await expect(writeParameters(session, { target_V: 131 })).rejects.toMatchObject({
      code: 'box-contradiction',
      what: 'the box refuses: box.target_V (131 V) is not below box.arc_high_V (130 V)',
      remedy: 'change one of them: the target must lie inside the arc window; the box refuses to start otherwise',
    });
    expect(box.asked).not.toContain('parameters-commit');
    box.app.contradicts = [id('z_velocity_mm_s'), id('z_steps_per_mm')];
    const fast = { z_velocity_mm_s: 150, z_steps_per_mm: 1600 };
    await expect(writeParameters(session, fast)).rejects.toThrow('240 steps a millisecond');
  });

  it('are kept without what somebody else had put aside', async () => {
    const { box, session } = connected();
    const [first, second] = PARAMETER_ROWS;
    const before = await readParameters(session);
    await session.ask('parameters-stage', {}, [{ id: second.id, value: second.max }]);
    await writeParameters(session, { [first.name]: first.min });
    expect(await readParameters(session)).toEqual({ ...before, [first.name]: Math.fround(first.min) });
    expect(box.app.kept_generation).toBe(1);
  });

  it('that are out of range are refused by name, and none is taken', async () => {
    const { box, session } = connected();
    const [first, second] = PARAMETER_ROWS;
    const before = await readParameters(session);
    const wanted = { [first.name]: first.min, [second.name]: second.max + 1 };
    const error = (await writeParameters(session, wanted).catch((caught) => caught)) as StandoffError;
    expect(error).toBeInstanceOf(StandoffError);
    expect(error.code).toBe('box-parameter');
    expect(error.what).toContain(second.name);
    expect(error.remedy).toContain(`${second.min} to ${second.max}`);
    expect(await readParameters(session)).toEqual(before);
    expect(box.app.kept_generation).toBe(0);
  });

  it('are refused as a whole while the key is on, and by name when there is no such thing', async () => {
    const { box, session } = connected();
    box.app.key_on = true;
    const { name, min } = PARAMETER_ROWS[0];
    await expect(writeParameters(session, { [name]: min })).rejects.toMatchObject({ code: 'box-key' });
    // @ts-expect-error: the compiler refuses it as well
    await expect(writeParameters(session, { standoff_furlongs: 1 })).rejects.toMatchObject({
      code: 'parameter-unknown',
    });
  });
});

describe('the event ring', () => {
  const event = (tick: number) => ({ tick, start: 3, kind: 1, detail: 0, value: -1 });

  it('is read to its end, from any number on', async () => {
    const { box, session } = connected();
    box.app.events = Array.from({ length: 100 }, (_, tick) => event(tick));
    expect(await readRing(session, 'events-read')).toEqual(box.app.events);
    expect(await readRing(session, 'events-read', 97)).toEqual(box.app.events.slice(97));
    expect(await readRing(session, 'history-read')).toEqual([]);
  });

  it('is not read for ever when events come as fast as they are read', async () => {
    const { box, session } = connected();
    box.app.events = Array.from({ length: 50 }, (_, tick) => event(tick));
    const { answer } = box.app;
    vi.spyOn(box.app, 'answer').mockImplementation((service, payload) => {
      const answered = answer.call(box.app, service, payload);
      for (let more = 0; more < 40; more++) box.app.events.push(event(0));
      return answered;
    });
    expect((await readRing(session, 'events-read')).length).toBeLessThan(100);
  });
});

describe('the readings', () => {
  it('come as mean and standard deviation', async () => {
    const { box, session } = connected();
    // 2, 4, 4, 4, 5, 5, 7, 9 counts above 1000: mean 5, standard deviation 2 (computed by hand).
    const counts = [2, 4, 4, 4, 5, 5, 7, 9].map((count) => 1000 + count);
    box.app.readings = {
      count: counts.length,
      sum: counts.reduce((sum, count) => sum + count),
      square_sum_low: counts.reduce((sum, count) => sum + (count - 1002) ** 2, 0),
      least: 1002,
      most: 1009,
      reference: 2048,
    };
    expect(await readReadings(session)).toEqual({
      count: 8,
      mean_counts: 1005,
      spread_counts: 2,
      least_counts: 1002,
      most_counts: 1009,
      reference_counts: 2048,
    });
  });

  it('of a second that has not passed yet are zeros, not NaN', async () => {
    const { session } = connected();
    expect(await readReadings(session)).toMatchObject({ count: 0, mean_counts: 0, spread_counts: 0 });
  });
});
