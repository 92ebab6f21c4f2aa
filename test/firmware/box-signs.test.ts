/** What the box shows and notes beside its outputs: the sign of life on the board's LED, and a key that is on with USB open. */
import { expect, it } from 'vitest';
import * as wire from '../../firmware/wire/layout.gen.js';
import { EVENT_ROWS } from '../../firmware/wire/link-rows.js';
import { describeAgainst } from '../reference/support.js';
import { buildBox, type Patch } from './box-native.js';
import { BoxScript } from './box-script.js';
import { GCC } from './loader-native.js';

const QUIET = wire.INPUT_STOP_CHAIN | wire.INPUT_BREAKAWAY | wire.INPUT_TOP;
const STEP_MS = 64;
const quiet = () => new BoxScript().say(`digital_inputs ${QUIET}`);
const patch = (file: string, find: string, replace: string): Patch => ({ file, find, replace });

/** The LED over two of its periods, sixteen characters each. */
function blinking(program: string, begin: (script: BoxScript) => void): string {
  const script = quiet();
  // Then the reports come in the middle of a step.
  script.run(29);
  begin(script);
  const at = Array.from({ length: 32 }, () => script.run(STEP_MS));
  const reports = script.play(program);
  return at.map((index) => reports[index].led).join('');
}

const ONCE = /10{15}1/;
const TWICE = /1010{13}1/;

describeAgainst(GCC, 'the box', (gcc) => {
  const program = buildBox(gcc);

  it('blinks its LED once a second, and twice in the desk state', () => {
    const normal = blinking(program, (script) => script.run(3));
    expect(normal).toMatch(ONCE);
    const desk = blinking(program, (script) => script.ask('desk-begin'));
    expect(desk).toMatch(TWICE);
  });

  it('shows with it that ticks go on: it is dark when they stop at rest', () => {
    const script = quiet();
    script.run(1020);
    script.say('stack').say('run 5');
    const stopped = script.expectReport();
    expect(script.play(program)[stopped]).toMatchObject({ rests: 1, led: 0 });
  });

  /** How often it notes that the key is on with USB open. */
  function notes(what: (script: BoxScript) => void, spoilt = program): number {
    const script = quiet();
    script.run(50);
    what(script);
    const read = script.ask('events-read', { first: 0, count: 100 });
    const { records } = script.play(spoilt)[read].answers[0];
    return records.filter(({ kind }) => EVENT_ROWS[kind as number].name === 'key-usb').length;
  }
  const key = (script: BoxScript, on: boolean, ms = 5) =>
    script.say(`digital_inputs ${QUIET | (on ? wire.INPUT_KEY : 0)}`).run(ms);
  const usb = (script: BoxScript, open: boolean) => script.say(`usb_open ${open ? 1 : 0}`).run(5);

  it('notes it when the key goes on with USB open, and when USB is opened with the key on', () => {
    const first = (script: BoxScript) => {
      usb(script, true);
      key(script, true);
    };
    expect(notes(first)).toBe(1);
    const second = (script: BoxScript) => {
      key(script, true);
      usb(script, true);
    };
    expect(notes(second)).toBe(1);
  });

  it('notes nothing with the key off, or with nothing but the serial line', () => {
    expect(notes((script) => void key(script, true, 1500))).toBe(0);
    expect(notes((script) => void usb(script, true))).toBe(0);
  });

  it('notes a key that chatters once a second at most, and a later turn again', () => {
    const chatter = (script: BoxScript) => {
      usb(script, true);
      for (let turn = 0; turn < 40; turn++) key(script, turn % 2 === 0, 10);
    };
    expect(notes(chatter)).toBe(1);
    const again = (script: BoxScript) => {
      usb(script, true);
      key(script, true, 20);
      key(script, false, 1500);
      key(script, true, 20);
    };
    expect(notes(again)).toBe(2);
  });

  it.each([
    [
      'the LED does not know the desk state',
      'tick.c',
      'port_at_desk() ? HEARTBEAT_DESK : HEARTBEAT_BOX',
      'HEARTBEAT_BOX',
    ],
    ['the LED is not counted by the tick', 'tick.c', 'HEARTBEAT_BOX, box_status.number)', 'HEARTBEAT_BOX, 0)'],
  ])('that is spoilt is seen: %s', (_, file, find, replace) => {
    const spoilt = buildBox(gcc, { patches: [patch(`firmware/box/${file}`, find, replace)] });
    const desk = blinking(spoilt, (script) => script.ask('desk-begin'));
    expect(desk).not.toMatch(TWICE);
  });

  it('that forgets USB, or the key, is seen', () => {
    const file = 'firmware/box/link.c';
    const find = 'open < LINK_WAYS && status_key_on()';
    const spoilt = (replace: string) => buildBox(gcc, { patches: [patch(file, find, replace)] });
    expect(notes((script) => void key(script, true), spoilt('status_key_on()'))).toBe(1);
    expect(notes((script) => void usb(script, true), spoilt('open < LINK_WAYS'))).toBe(1);
  });
});
