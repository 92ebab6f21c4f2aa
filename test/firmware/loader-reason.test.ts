import { execFileSync } from 'node:child_process';
import { expect, it } from 'vitest';
import { BOOT_ROWS } from '../../firmware/wire/link-rows.js';
import { describeAgainst } from '../reference/support.js';
import { buildLoaderProgram, GCC } from './loader-native.js';

const MARK = 0x534e0000;
const YOUNG = 0x80;
const AT_ONCE = 0x80;
const cause = (name: string): number => MARK + BOOT_ROWS.findIndex((row) => row.name === name);

describeAgainst(GCC, 'what the loader makes of a start', (gcc) => {
  const program = buildLoaderProgram(gcc, 'reasons');
  const reason = (
    by_watchdog: boolean,
    cause_word: number,
    ran: number,
    valid = true,
  ): readonly [string, number, boolean, boolean] => {
    const input = `${Number(by_watchdog)} ${cause_word.toString(16)} ${ran.toString(16)} ${Number(valid)}\n`;
    const [number, failures, stay, at_once] = execFileSync(program, { input, encoding: 'utf8' }).split(' ').map(Number);
    return [BOOT_ROWS[number].name, failures, stay === 1, at_once === 1];
  };

  it('takes a start without the watchdog for the power, whatever stands in the scratch registers', () => {
    expect(reason(false, cause('trap'), MARK + YOUNG + 2)).toEqual(['power-up', 0, false, false]);
  });

  it('stays when a host asked for the loader', () => {
    expect(reason(true, cause('loader'), MARK)).toEqual(['loader', 0, true, false]);
  });

  it('takes a watchdog reset with no cause left behind for a hung tick', () => {
    expect(reason(true, 0, MARK)).toEqual(['hung', 0, false, false]);
  });

  it('takes a watchdog reset out of nothing of ours for the power', () => {
    expect(reason(true, 0, 0)).toEqual(['power-up', 0, false, false]);
    expect(reason(true, 0xb007c0d3, 0x12345678)).toEqual(['power-up', 0, false, false]);
  });

  it.each(['trap', 'hard-fault', 'stack'])('counts a %s within the first second, and stays at the third', (name) => {
    expect(reason(true, cause(name), MARK + YOUNG)).toEqual([name, 1, false, false]);
    expect(reason(true, cause(name), MARK + YOUNG + 1)).toEqual([name, 2, false, false]);
    expect(reason(true, cause(name), MARK + YOUNG + 2)).toEqual(['image-fails', 3, true, false]);
    expect(reason(true, cause(name), MARK), 'after the first second').toEqual([name, 0, false, false]);
  });

  it('counts an image that hangs within its first second, and stays at the third', () => {
    expect(reason(true, 0, MARK + YOUNG + 2)).toEqual(['image-fails', 3, true, false]);
  });

  it('does not count a restart that was asked for', () => {
    expect(reason(true, cause('restart'), MARK + YOUNG + 2)).toEqual(['restart', 0, false, false]);
  });

  it('starts at once after an update or a restart of its own', () => {
    expect(reason(true, cause('update') + AT_ONCE, 0)).toEqual(['update', 0, false, true]);
  });

  it('stays when no slot holds an image, whatever the cause', () => {
    for (const name of ['restart', 'loader', 'trap']) {
      expect(reason(true, cause(name), MARK, false)).toEqual(['no-image', 0, true, false]);
    }
  });
});
