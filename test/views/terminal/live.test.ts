import { EventEmitter } from 'node:events';
import { describe, expect, it } from 'vitest';
import { type LiveSource, LiveView, type Pace, ViewHistory } from '../../../sim/views/terminal/index.js';
import { following, play, SCENE } from './made-trace.js';

const ENTER = '\x1b[?1049h';
const LEAVE = '\x1b[?1049l';
const SHOW_CURSOR = '\x1b[?25h';

class FakeOutput extends EventEmitter {
  columns = 80;
  rows = 24;
  readonly written: string[] = [];
  takes = true;
  write(text: string): boolean {
    this.written.push(text);
    return this.takes;
  }
  get all(): string {
    return this.written.join('');
  }
}

class FakeInput extends EventEmitter {
  isTTY = true;
  raw = false;
  flowing = false;
  setRawMode(raw: boolean): void {
    this.raw = raw;
  }
  resume(): void {
    this.flowing = true;
  }
  pause(): void {
    this.flowing = false;
  }
  press(keys: string): void {
    this.emit('data', Buffer.from(keys));
  }
}

/** Wall time moves only when the test says so. */
class FakePace implements Pace {
  time_ms = 0;
  running = false;
  private callback: () => void = () => {};
  now_ms(): number {
    return this.time_ms;
  }
  every(_interval_ms: number, frame: () => void): () => void {
    this.callback = frame;
    this.running = true;
    return () => {
      this.running = false;
    };
  }
  pass(passed_ms: number): void {
    this.time_ms += passed_ms;
    if (this.running) this.callback();
  }
}

class FakeSource implements LiveSource {
  ticks = 0;
  finished = false;
  progress = 0;
  remaining_s = 10;
  fails = false;
  constructor(
    readonly history: ViewHistory,
    readonly length = 100_000,
  ) {}
  advance(ticks: number): void {
    if (this.fails) throw new Error('the simulation failed');
    play(this.history, ticks, following, this.ticks);
    this.ticks += ticks;
    this.finished = this.ticks >= this.length;
  }
}

function started(length?: number, speed?: number) {
  const history = new ViewHistory(SCENE);
  const source = new FakeSource(history, length);
  const stdin = new FakeInput();
  const stdout = new FakeOutput();
  const signals = new EventEmitter();
  const pace = new FakePace();
  const style = { unicode: true, colour: false };
  const view = new LiveView({
    source,
    history,
    style,
    stdin,
    stdout,
    signals,
    pace,
    ...(speed && { speed }),
  });
  return { source, stdin, stdout, signals, pace, ended: view.run() };
}

type Started = ReturnType<typeof started>;

function expectGivenBack({ stdin, stdout, signals, pace }: Started): void {
  const { all } = stdout;
  expect(all.lastIndexOf(LEAVE)).toBeGreaterThan(all.lastIndexOf(ENTER));
  expect(all.split(LEAVE)).toHaveLength(2);
  expect(all.slice(all.lastIndexOf('\x1b[?25l'))).toContain(SHOW_CURSOR);
  expect(all.endsWith(LEAVE)).toBe(true);
  expect(stdin.raw).toBe(false);
  expect(stdin.flowing).toBe(false);
  expect(pace.running).toBe(false);
  for (const stream of [stdin, stdout, signals]) expect(stream.eventNames()).toEqual([]);
}

describe('the live view gives the terminal back', () => {
  it('at the end of the run', async () => {
    const run = started(100);
    expect(run.stdin.raw).toBe(true);
    expect(run.stdout.all.startsWith(ENTER)).toBe(true);
    run.pace.pass(200);
    await expect(run.ended).resolves.toBe('finished');
    expectGivenBack(run);
  });

  it('on q', async () => {
    const run = started();
    run.stdin.press('q');
    await expect(run.ended).resolves.toBe('quit');
    expectGivenBack(run);
  });

  it('on Ctrl-C, which a raw terminal gives as a byte', async () => {
    const run = started();
    run.stdin.press('\x03');
    await expect(run.ended).resolves.toBe('interrupted');
    expectGivenBack(run);
  });

  it.each(['SIGINT', 'SIGTERM', 'SIGHUP'])('on %s from outside', async (signal) => {
    const run = started();
    run.signals.emit(signal);
    await expect(run.ended).resolves.toBe('interrupted');
    expectGivenBack(run);
  });

  it('when the simulation throws, and passes the error on', async () => {
    const run = started();
    run.source.fails = true;
    run.pace.pass(55);
    await expect(run.ended).rejects.toThrow('the simulation failed');
    expectGivenBack(run);
  });

  it('when a step throws', async () => {
    const run = started();
    run.source.fails = true;
    run.stdin.press('s');
    await expect(run.ended).rejects.toThrow('the simulation failed');
    expectGivenBack(run);
  });

  it('when the process ends without another word', async () => {
    const run = started();
    run.signals.emit('exit');
    expect(run.stdout.all.endsWith(LEAVE)).toBe(true);
    expect(run.stdin.raw).toBe(false);
    run.stdin.press('q');
    await run.ended;
  });

  it('when the terminal goes away', async () => {
    const run = started();
    run.stdout.emit('error', new Error('EPIPE'));
    await expect(run.ended).resolves.toBe('quit');
    expectGivenBack(run);
  });
});

describe('the live view runs the simulation', () => {
  const end = async (run: Started) => {
    run.stdin.press('q');
    await run.ended;
  };

  it('in real time at speed 1, and keeps no debt of ticks', async () => {
    const run = started();
    for (let frame = 0; frame < 100; frame++) run.pace.pass(50);
    expect(run.source.ticks).toBe(5000);
    await end(run);
  });

  it('at a tenth of a tick a frame when it is slow, without losing the fractions', async () => {
    const run = started(undefined, 0.01);
    for (let frame = 0; frame < 100; frame++) run.pace.pass(55);
    expect(run.source.ticks).toBe(55);
    await end(run);
  });

  it('faster and slower by the keys, and says so', async () => {
    const run = started();
    run.stdin.press('++');
    run.pace.pass(100);
    expect(run.source.ticks).toBe(500);
    expect(run.stdout.all).toContain('5× real time');
    run.stdin.press('---');
    run.pace.pass(100);
    expect(run.source.ticks).toBe(550);
    expect(run.stdout.all).toContain('0.5× real time');
    await end(run);
  });

  it('says the time that is left by the clock: at the speed asked for, and at what this machine reaches', async () => {
    const fast = started(undefined, 10);
    for (let frame = 0; frame < 10; frame++) fast.pace.pass(50);
    fast.source.remaining_s = 600;
    fast.pace.pass(50);
    expect(fast.stdout.written.slice(-3).join('')).toContain('1:00');
    await end(fast);
    const slow = started(undefined, 100);
    slow.source.remaining_s = 600;
    // Every tick takes 0.1 ms of the clock: ten times real time, whatever was asked for.
    slow.source.advance = (ticks) => {
      slow.pace.time_ms += 0.1 * ticks;
    };
    for (let frame = 0; frame < 80; frame++) slow.pace.pass(1);
    slow.stdout.written.length = 0;
    slow.stdout.columns = 90;
    slow.stdout.emit('resize');
    expect(slow.stdout.all).toMatch(/, (0:[45]\d|1:0\d) left/);
    await end(slow);
  });

  it('not while it is paused, but by one or ten ticks a key', async () => {
    const run = started();
    run.stdin.press(' ');
    run.pace.pass(100);
    expect(run.source.ticks).toBe(0);
    expect(run.stdout.all).toContain('PAUSED');
    run.stdin.press('s');
    expect(run.source.ticks).toBe(1);
    run.stdin.press('\x1b[C');
    expect(run.source.ticks).toBe(11);
    run.stdin.press(' ');
    run.pace.pass(100);
    expect(run.source.ticks).toBe(111);
    await end(run);
  });

  it('pauses on a step, so that the step is seen', async () => {
    const run = started();
    run.stdin.press('s');
    run.pace.pass(100);
    expect(run.source.ticks).toBe(1);
    await end(run);
  });

  it('does not jump after a stall', async () => {
    const run = started();
    run.pace.pass(60_000);
    expect(run.source.ticks).toBeLessThanOrEqual(250);
    await end(run);
  });

  it('ignores keys without a meaning, also those that begin like known ones', async () => {
    const run = started();
    run.stdin.press('x\x1b[A\x1b[15~\x1bOP\x1b[1;5S\x1bq');
    run.pace.pass(100);
    expect(run.source.ticks).toBe(100);
    await end(run);
  });

  it('leaves an input alone that is not a terminal', async () => {
    const history = new ViewHistory(SCENE);
    const stdin = new FakeInput();
    stdin.isTTY = false;
    const pace = new FakePace();
    const view = new LiveView({
      source: new FakeSource(history, 10),
      history,
      style: { unicode: false, colour: false },
      stdin,
      stdout: new FakeOutput(),
      signals: new EventEmitter(),
      pace,
    });
    const ended = view.run();
    expect(stdin.flowing).toBe(false);
    expect(stdin.eventNames()).toEqual([]);
    pace.pass(100);
    await expect(ended).resolves.toBe('finished');
  });
});

describe('the live view writes', () => {
  it('only the lines that changed', async () => {
    const run = started();
    run.pace.pass(1000);
    const whole = run.stdout.written.filter((text) => text.includes('\x1b[24;1H')).length;
    run.stdout.written.length = 0;
    run.pace.pass(100);
    const update = run.stdout.written.join('');
    expect(update).toContain('\x1b[1;1H');
    // The keys in row 24 and the lamps in row 17 have not changed.
    expect(update).not.toContain('\x1b[24;1H');
    expect(update).not.toContain('\x1b[17;1H');
    expect(whole).toBe(1);
    run.stdout.written.length = 0;
    run.stdin.press(' ');
    run.stdout.written.length = 0;
    run.pace.pass(50);
    expect(run.stdout.all).toBe('');
    run.stdin.press('q');
    await run.ended;
  });

  it('everything again in the new size after a resize', async () => {
    const run = started();
    run.pace.pass(200);
    run.stdout.written.length = 0;
    run.stdout.columns = 60;
    run.stdout.rows = 18;
    run.stdout.emit('resize');
    const { all } = run.stdout;
    expect(all).toContain('\x1b[2J');
    for (let row = 1; row <= 18; row++) expect(all).toContain(`\x1b[${row};1H`);
    expect(all).not.toContain('\x1b[19;1H');
    // Some terminals report a resize when they come back cleared: then unchanged lines are needed as well.
    run.stdout.written.length = 0;
    run.stdout.emit('resize');
    for (let row = 1; row <= 18; row++) expect(run.stdout.all).toContain(`\x1b[${row};1H`);
    run.stdin.press('q');
    await run.ended;
  });

  it('no further frame to a terminal that is full, and goes on when it has drained', async () => {
    const run = started();
    run.stdout.takes = false;
    run.pace.pass(50);
    const before = run.stdout.written.length;
    run.pace.pass(50);
    expect(run.stdout.written).toHaveLength(before);
    run.stdout.takes = true;
    run.stdout.emit('drain');
    run.pace.pass(50);
    expect(run.stdout.written.length).toBeGreaterThan(before);
    run.stdin.press('q');
    await run.ended;
  });
});
