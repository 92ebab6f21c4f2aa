import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest';
import { ANSWER, SERVICE_ROWS } from '../../firmware/wire/link-rows.js';
import { StandoffError } from '../../sim/base/index.js';
import { agreeSpeed, encodeFrame, encodeLayout, FrameDecoder, IN_USE, Session } from '../../sim/link/index.js';
import { FakeBox } from './fake-box.js';
import { FakeLine } from './fake-line.js';
import { PeerLine, type Reply } from './peer.js';

const TICK: Reply = (service) => (service === 'ping' ? { values: { tick: 5 } } : undefined);
const codeOf = (error: unknown) => (error as StandoffError).code;
/** The error of a request, taken hold of at once: the clock runs on before it is looked at. */
const failure = (work: Promise<unknown>) =>
  work.then(
    () => 'nothing',
    (error) => codeOf(error),
  );

beforeEach(() => {
  vi.useFakeTimers();
});
afterEach(() => {
  vi.useRealTimers();
});

describe('what no answer comes of', () => {
  const said = async (line: PeerLine, begin: () => void = () => {}) => {
    const work = new Session(line).ask('identity');
    const error = work.catch((thrown: StandoffError) => thrown);
    begin();
    await vi.advanceTimersByTimeAsync(5000);
    return (await error) as StandoffError;
  };

  it('is silence, or bytes without a frame as another program or another device makes them: each has its sentence', async () => {
    const silent = await said(new PeerLine(() => undefined));
    expect([silent.code, silent.what]).toEqual(['link-silent', expect.stringContaining('is silent')]);
    const line = new PeerLine(() => undefined);
    const garbled = await said(line, () => line.onBytes(new Uint8Array([1, 2, 3, 0, 4, 5])));
    expect([garbled.code, garbled.what]).toEqual([
      'link-silent',
      expect.stringContaining('6 bytes came and no whole frame'),
    ]);
    expect(garbled.remedy).toContain('other program');
  });

  it('is a line that somebody else has, who is named', async () => {
    const line = new PeerLine(() => undefined);
    const error = await said(line, () => line.onClosed(`${IN_USE}127.0.0.1:4711`));
    expect([error.code, error.what]).toEqual(['link-lost', expect.stringContaining('in use by 127.0.0.1:4711')]);
    expect(error.remedy).toContain('end the other program');
  });
});

describe('a request', () => {
  it('brings the values of its answer', async () => {
    const session = new Session(new PeerLine(TICK));
    await expect(session.ask('ping')).resolves.toMatchObject({ status: 0, values: { tick: 5 } });
  });

  it('is sent again when it or its answer is lost, and answered once', async () => {
    for (const way of ['toBox', 'fromBox'] as const) {
      const line = new PeerLine(TICK);
      let lost = 2;
      line[way] = (bytes) => (lost-- > 0 ? [] : [bytes]);
      const session = new Session(line);
      const answer = session.ask('ping');
      await vi.advanceTimersByTimeAsync(2000);
      await expect(answer).resolves.toMatchObject({ values: { tick: 5 } });
      expect(line.asked.length).toBe(way === 'toBox' ? 1 : 3);
      expect(session.under_way).toBe(0);
    }
  });

  it('ignores an answer that comes twice, late, or to something else', async () => {
    const line = new PeerLine(TICK);
    line.fromBox = (bytes) => [bytes, bytes];
    const session = new Session(line);
    await session.ask('ping');
    await session.ask('ping');
    line.send({ service: 2 | ANSWER, status: 0, sequence: 40_000, payload: encodeLayout('ping', { tick: 1 }) });
    line.send({ service: 1 | ANSWER, status: 0, sequence: 40_000, payload: new Uint8Array(3) });
    await vi.advanceTimersByTimeAsync(100);
    expect(session.under_way).toBe(0);
    await expect(session.ask('ping')).resolves.toMatchObject({ values: { tick: 5 } });
  });

  it('takes no answer of another service for its own', async () => {
    const line = new PeerLine(TICK);
    const identity = SERVICE_ROWS.find(({ name }) => name === 'identity')!;
    line.fromBox = (bytes) => {
      const [frame] = new FrameDecoder().take(bytes);
      const payload = encodeLayout('identity');
      return [encodeFrame({ ...frame, service: identity.code | ANSWER, payload }), bytes];
    };
    await expect(new Session(line).ask('ping')).resolves.toMatchObject({ values: { tick: 5 } });
  });

  it('finds its own answer among several that come in another order', async () => {
    const held: Uint8Array[] = [];
    const line = new PeerLine((_, payload) => ({
      values: { baud: new DataView(payload.slice().buffer).getUint32(0, true) },
    }));
    line.fromBox = (bytes) => {
      held.push(bytes);
      return held.length === 3 ? held.toReversed() : [];
    };
    const session = new Session(line);
    const answers = await Promise.all([1, 2, 3].map((baud) => session.ask('line-speed', { baud })));
    expect(answers.map(({ values }) => values.baud)).toEqual([1, 2, 3]);
  });

  it('that is refused says why and what to do', async () => {
    const session = new Session(new PeerLine(() => ({ status: 6 })));
    const error = (await session.ask('loader-enter').catch((caught) => caught)) as StandoffError;
    expect(error).toBeInstanceOf(StandoffError);
    expect([error.code, error.what, error.remedy]).toEqual([
      'box-key',
      'the box refuses loader-enter: the arm key is on',
      'turn the arm key off',
    ]);
    await expect(session.askAnyway('loader-enter')).resolves.toMatchObject({ status: 6 });
  });

  it('gives up when no answer ever comes', async () => {
    const line = new PeerLine(() => undefined);
    const failed = failure(new Session(line).ask('identity'));
    await vi.advanceTimersByTimeAsync(10_000);
    expect(await failed).toBe('link-silent');
    expect(line.asked).toHaveLength(4);
  });

  it('whose answer has the wrong length is as good as unanswered', async () => {
    const line = new PeerLine(TICK);
    // The right service and sequence, the checksum too; one byte too many.
    line.fromBox = (bytes) => {
      const [frame] = new FrameDecoder().take(bytes);
      return [encodeFrame({ ...frame, payload: Uint8Array.from([...frame.payload, 0]) })];
    };
    const failed = failure(new Session(line).ask('ping'));
    await vi.advanceTimersByTimeAsync(10_000);
    expect(await failed).toBe('link-silent');
    expect(line.asked).toHaveLength(4);
  });

  it('waits longer where the line is slow and much is under way', async () => {
    const line = new PeerLine(() => undefined);
    line.baud = 9600;
    const session = new Session(line);
    const failed = Promise.all([1, 2, 3].map(() => failure(session.ask('update-write', {}, new Uint8Array(256)))));
    // Each frame needs 0.28 s of the line, an answer up to 0.34 s.
    await vi.advanceTimersByTimeAsync(800);
    expect(line.asked).toHaveLength(3);
    await vi.advanceTimersByTimeAsync(30_000);
    expect(await failed).toEqual(['link-silent', 'link-silent', 'link-silent']);
    expect(line.asked).toHaveLength(12);
  });

  it('does not wait longer for those that were answered long ago', async () => {
    const line = new PeerLine(TICK);
    const session = new Session(line);
    for (let round = 0; round < 1000; round++) await session.ask('ping');
    line.asked.length = 0;
    line.reply = () => undefined;
    const failed = failure(session.ask('ping'));
    await vi.advanceTimersByTimeAsync(400);
    expect(line.asked).toHaveLength(2);
    await vi.advanceTimersByTimeAsync(10_000);
    expect(await failed).toBe('link-silent');
  });

  it('may be asked with another patience', async () => {
    const line = new PeerLine(() => undefined);
    line.baud = 10_000_000;
    const failed = failure(new Session(line).ask('ping', {}, [], { answer_ms: 10, tries: 7, steady: true }));
    await vi.advanceTimersByTimeAsync(80);
    expect(await failed).toBe('link-silent');
    expect(line.asked).toHaveLength(7);
  });
});

describe('the heartbeat', () => {
  it('pings an idle link, and not one that is busy anyway', async () => {
    const line = new PeerLine(TICK);
    const session = new Session(line);
    session.watch();
    await vi.advanceTimersByTimeAsync(2000);
    expect(line.asked.length).toBeGreaterThanOrEqual(3);
    expect(session.lost).toBe('');
  });

  it('notices within a second that the other end is silent, says so once, and fails what is under way', async () => {
    for (const after_ms of [0, 1, 120, 249, 250, 251, 500, 730]) {
      const line = new PeerLine(TICK);
      const session = new Session(line);
      const reasons: string[] = [];
      session.onLost = (reason) => reasons.push(reason);
      session.watch();
      await vi.advanceTimersByTimeAsync(after_ms);
      line.reply = () => undefined;
      const failed = failure(session.ask('identity'));
      await vi.advanceTimersByTimeAsync(1000);
      expect(reasons, `silent after ${after_ms} ms`).toEqual(['nothing was heard for 1 s']);
      expect(await failed).toBe('link-lost');
      expect(await failure(session.ask('ping'))).toBe('link-lost');
      line.pull();
      await vi.advanceTimersByTimeAsync(5000);
      expect(reasons).toHaveLength(1);
    }
  });

  it('believes no silence of which it slept through the better part', async () => {
    const line = new PeerLine(TICK);
    const session = new Session(line);
    session.watch();
    await vi.advanceTimersByTimeAsync(500);
    // The process stands still: the clock goes on, no timer runs, and what the box says waits.
    const now = performance.now();
    const clock = vi.spyOn(performance, 'now').mockReturnValue(now + 5000);
    await vi.advanceTimersByTimeAsync(250);
    expect(session.lost).toBe('');
    clock.mockRestore();
  });

  it('rests where silence is expected, until it is wanted again', async () => {
    const line = new PeerLine(() => undefined);
    const session = new Session(line);
    expect(session.unwatch()).toBe(false);
    session.watch();
    expect(session.unwatch()).toBe(true);
    await vi.advanceTimersByTimeAsync(5000);
    expect([session.lost, line.asked.length]).toEqual(['', 0]);
    session.watch();
    await vi.advanceTimersByTimeAsync(1000);
    expect(session.lost).not.toBe('');
  });

  it('is not needed to notice a plug that is pulled', async () => {
    const line = new PeerLine(() => undefined);
    const session = new Session(line);
    const failed = failure(session.ask('identity'));
    line.pull();
    expect(await failed).toBe('link-lost');
    expect(session.lost).toBe('the plug was pulled');
  });
});

describe('telemetry', () => {
  const row = (line: PeerLine, sequence: number) =>
    line.send({ service: 9 | ANSWER, status: 0, sequence, payload: encodeLayout('telemetry', { tick: sequence }) });

  it('comes to the listener with the number of rows lost before each, past 65535 too', async () => {
    const line = new PeerLine(TICK);
    const session = new Session(line);
    const seen: [number, number][] = [];
    session.onTelemetry = ({ tick }, lost) => seen.push([tick as number, lost]);
    for (const sequence of [65533, 65534, 1, 2, 5]) row(line, sequence);
    await vi.advanceTimersByTimeAsync(1);
    expect(seen).toEqual([
      [65533, 0],
      [65534, 0],
      [1, 2],
      [2, 0],
      [5, 2],
    ]);
    expect(session.lost_rows).toBe(4);
  });

  it('that begins again has numbers of its own', async () => {
    const line = new PeerLine(() => ({ values: { every_ms: 1 } }));
    const session = new Session(line);
    await session.ask('telemetry', { every_ms: 1 });
    row(line, 7);
    await vi.advanceTimersByTimeAsync(1);
    await session.ask('telemetry', { every_ms: 1 });
    row(line, 1000);
    row(line, 1002);
    await vi.advanceTimersByTimeAsync(1);
    expect(session.lost_rows).toBe(1);
  });
});

describe('the speed of the line', () => {
  it('changes on both sides when the box agrees and is still heard', async () => {
    const line = new PeerLine((service) =>
      service === 'line-speed' ? { values: { baud: 921600 } } : { values: { tick: 1 } },
    );
    expect(await agreeSpeed(new Session(line), 921600, 115200)).toBe(921600);
    expect(line.baud).toBe(921600);
  });

  it('stays when the box refuses it', async () => {
    const line = new PeerLine(() => ({ status: 19 }));
    expect(await agreeSpeed(new Session(line), 921600, 115200)).toBe(115200);
    expect(line.baud).toBe(115200);
  });

  it('goes back when the line does not bear the new one, and the silence meanwhile is no lost link', async () => {
    const box = new FakeBox();
    const line = new FakeLine(box, { most_baud: 115200, delay_ms: 1 });
    const session = new Session(line);
    session.watch();
    const agreed = agreeSpeed(session, 921600, 115200);
    await vi.advanceTimersByTimeAsync(3000);
    expect(await agreed).toBe(115200);
    expect([line.baud, box.baud, session.lost]).toEqual([115200, 115200, '']);
    // And is watched again.
    expect(session.unwatch()).toBe(true);
  });
});
