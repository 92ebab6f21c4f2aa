import { execFileSync } from 'node:child_process';
import { expect, it } from 'vitest';
import { BOOT_ROWS } from '../../firmware/wire/link-rows.js';
import { describeAgainst } from '../reference/support.js';
import { buildLoaderProgram, GCC } from './loader-native.js';

const MARK = 0x534e0000;
const YOUNG = 0x80;
const TRIAL = 0x100;
const AT_ONCE = 0x80;
const cause = (name: string): number => MARK + BOOT_ROWS.findIndex((row) => row.name === name);

describeAgainst(GCC, 'what the loader makes of a start', (gcc) => {
  const program = buildLoaderProgram(gcc, 'reasons');
  const reason = (
    by_watchdog: boolean,
    cause_word: number,
    ran: number,
    valid = true,
  ): readonly [string, number, boolean, boolean] => tried(by_watchdog, cause_word, ran, valid).reason;
  const tried = (by_watchdog: boolean, cause_word: number, ran: number, valid = true) => {
    const input = `${Number(by_watchdog)} ${cause_word.toString(16)} ${ran.toString(16)} ${Number(valid)}\n`;
    const words = execFileSync(program, { input, encoding: 'utf8' }).trim().split(' ');
    const [number, failures, stay, at_once, trial] = words.map(Number);
    const reason = [BOOT_ROWS[number].name, failures, stay === 1, at_once === 1] as const;
    return { reason, trial: trial === 1, kept: Number.parseInt(words[5], 16) };
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

  it('neither counts nor forgives by a restart that was asked for', () => {
    expect(reason(true, cause('restart'), MARK + YOUNG + 2)).toEqual(['restart', 2, false, false]);
    expect(reason(true, cause('restart'), MARK)).toEqual(['restart', 0, false, false]);
    expect(tried(true, 0, MARK + YOUNG + 1).kept).toBe(MARK + 2);
  });

  it('forgives all failures by a restart that was asked for after the last one', () => {
    expect(tried(true, 0, MARK + YOUNG + 2)).toMatchObject({ reason: ['image-fails', 3, true, false], kept: MARK });
  });

  it('takes an image for new, and on trial, from its writing until the power goes', () => {
    expect(tried(true, cause('update') + AT_ONCE, MARK + YOUNG + 2)).toMatchObject({ trial: true, kept: MARK + TRIAL });
    expect(tried(true, cause('trap'), MARK + YOUNG + TRIAL)).toMatchObject({ trial: true, kept: MARK + TRIAL + 1 });
    expect(tried(true, cause('trap'), MARK).trial).toBe(false);
    expect(tried(false, cause('update'), MARK + YOUNG + TRIAL).trial).toBe(false);
  });

  it('begins anew with the image that it went back to, which is not on trial', () => {
    const found = tried(true, cause('rolled-back') + AT_ONCE, MARK + YOUNG + TRIAL + 2);
    expect(found).toEqual({ reason: ['rolled-back', 0, false, true], trial: false, kept: MARK });
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
