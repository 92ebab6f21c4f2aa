import { describe, expect, it } from 'vitest';
import { BOOT_ROWS, EVENT_ROWS } from '../../firmware/wire/link-rows.js';
import { PARAMETER_ROWS } from '../../firmware/wire/parameter-rows.js';
import { type Progress, ProgressDisplay, progressLine } from '../../sim/commands/base/progress.js';
import { changeLines, eventLines, parameterLines } from '../../sim/commands/box/box.js';
import { type BoxEvent, eventText } from '../../sim/link/index.js';
import { changesBetween } from '../../sim/run/box/index.js';

const event = (kind: string, detail = 0, value = 0, over: Partial<BoxEvent> = {}): BoxEvent => ({
  tick: 0,
  start: 1,
  kind: EVENT_ROWS.find(({ name }) => name === kind)!.code,
  detail,
  value,
  ...over,
});

describe('an event in words', () => {
  it.each([
    [event('start', 7), 'the box started: the control tick stopped: the watchdog started the box again'],
    [event('mode', 7), 'follow'],
    [event('mode', 8, 1), 'hold, corner'],
    [event('mode', 1 + 256), 'seek, first approach'],
    [event('fault', 7, 250), 'FAULT arc-lost: the arc went out during the cut, at 0.3 V'],
    [event('digital_inputs', 1 + 4), 'inputs: key, stop chain intact'],
    [event('digital_inputs', 0), 'inputs: none'],
    [event('digital_outputs', 3), 'outputs: torch trigger, motion permit'],
    [event('trap', 2, 77), 'TRAP: the control module reached outside its bounds (kind 2) in tick 77'],
    [event('hard-fault', 0, 0x20001234), 'HARD FAULT of the processor at 0x20001234'],
    [event('hard-fault', 0, -4), 'HARD FAULT of the processor at 0xfffffffc'],
    [event('overrun', 0, 130000), 'a tick was late: 130000 processor cycles'],
    [event('commit', 0, 3), 'parameters were kept, generation 3'],
    [event('link', 0), 'the link was lost'],
    [event('link', 1), 'the link was found'],
    [event('hung', 7, 991), 'HUNG: the tick stopped in follow; the last was 991'],
  ])('%#', (given, text) => {
    expect(eventText(given)).toBe(text);
  });

  it('has words for every kind, and numbers for one that is not known here', () => {
    for (const { code, name } of EVENT_ROWS.slice(1)) {
      expect(eventText({ ...event('start'), kind: code }), name).not.toMatch(/^event /);
    }
    expect(eventText({ ...event('start', 5, 6), kind: 99 })).toBe('event 99: 5, 6');
    expect(eventText(event('start', 99))).toContain('99');
    for (const { code } of BOOT_ROWS) expect(eventText(event('start', code))).not.toContain('unknown');
  });

  it('stands under the start of the box that it belongs to', () => {
    const lines = eventLines(
      [
        event('mode', 7, 0, { start: 4, tick: 91_250 }),
        event('start', 7, 0, { start: 5 }),
        event('link', 1, 0, { start: 5, tick: 12 }),
      ],
      120,
    );
    expect(lines.map((line) => line.trim())).toEqual([
      'start 4 of the box',
      '91.250 s  follow',
      'start 5 of the box',
      '0.000 s  the box started: the control tick stopped: the watchdog started the box again',
      '0.012 s  the link was found',
    ]);
  });
});

describe('parameters in words', () => {
  const defaults = Object.fromEntries(PARAMETER_ROWS.map((row) => [row.name, row.default]));
  const shown = (lines: readonly string[]) => lines.map((line) => line.replace(/\s+/g, ' ').trim());

  it('have their unit, and their default where they differ from it', () => {
    const lines = shown(parameterLines({ ...defaults, pierce_ms: 400, gain_d: 0.1 }, 80));
    expect(lines).toHaveLength(PARAMETER_ROWS.length);
    expect(lines).toContain('pierce_ms 400 ms default 500');
    expect(lines).toContain('gain_d 0.1 default 0');
    expect(lines).toContain('cut_height_mm 1.5 mm');
  });

  it('fit any width', () => {
    for (const width of [20, 40, 60]) {
      const longest = Math.max(...parameterLines(defaults, width).map((line) => line.length));
      expect(longest).toBeLessThanOrEqual(Math.max(width, 45));
    }
  });

  it('that change are told from what to what; what is the same in 32 bits is no change', () => {
    const changes = changesBetween(defaults, { ...defaults, pierce_ms: 400, reading_gain_mV: 96.68000001 });
    expect(shown(changeLines(changes, 80))).toEqual(['pierce_ms 500 → 400 ms']);
    expect(changeLines([], 80)).toEqual([]);
  });
});

describe('progress', () => {
  const half: Progress = { what: 'writing', done_bytes: 14336, total_bytes: 28672, bytes_per_s: 28672 };

  it('is a bar with share, bytes and rate', () => {
    const line = progressLine(half, 79, true);
    expect(line).toMatch(/^writing \[━+·+\] 50 %, 14\.0 of 28\.0 KiB, 28\.0 KiB\/s$/);
    expect(progressLine(half, 79, false)).toMatch(/^writing \[=+\.+\] 50 %/);
  });

  it('is never longer than the terminal', () => {
    for (let width = 20; width < 120; width++) {
      expect([...progressLine(half, width, true)].length).toBeLessThanOrEqual(width);
      expect(progressLine(half, width, true)).toContain('50 %');
    }
  });

  it('of nothing is all of it', () => {
    expect(progressLine({ ...half, done_bytes: 0, total_bytes: 0 }, 79, true)).toContain('100 %');
  });

  const display = (live: boolean) => {
    let text = '';
    const stream = { columns: 80, write: (piece: string) => (text += piece) };
    return { show: new ProgressDisplay(stream, { unicode: true, live }), text: () => text };
  };

  it('on a pipe is a line for each quarter, without escapes', () => {
    const { show, text } = display(false);
    for (let done_bytes = 0; done_bytes <= 28672; done_bytes += 256) show.show({ ...half, done_bytes });
    show.end();
    expect(text().split('\n')).toHaveLength(6);
    expect(text()).toContain('writing: 28672 of 28672 bytes\n');
    expect(text()).not.toContain('\x1b');
    expect(text()).not.toContain('\r');
  });

  it('on a terminal is one line below what is said, and goes at the end', () => {
    const { show, text } = display(true);
    show.show(half);
    show.say('the link was lost');
    show.show({ ...half, done_bytes: 28672 });
    expect(text()).toMatch(/100 %[^\n]*$/);
    show.end();
    const shown = text()
      .split('\n')
      .map((line) => line.slice(line.lastIndexOf('\r') + 1).replaceAll('\x1b[K', ''));
    expect(shown).toEqual(['the link was lost', '']);
  });
});
