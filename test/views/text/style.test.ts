import { describe, expect, it } from 'vitest';
import { terminalStyle } from '../../../sim/views/text/index.js';

const TERMINAL = { isTTY: true, columns: 100 };
const UTF8 = { TERM: 'xterm', LANG: 'C.UTF-8' };

describe('what a stream can show', () => {
  it('is a live picture with colour and braille on a terminal with a UTF-8 locale', () => {
    expect(terminalStyle(UTF8, TERMINAL)).toEqual({ live: true, colour: true, unicode: true, columns: 100 });
  });

  it('is neither live nor coloured when the output goes to a file', () => {
    expect(terminalStyle(UTF8, {})).toMatchObject({ live: false, colour: false, unicode: true, columns: 80 });
  });

  it('is not live in CI, and nothing but ASCII on a dumb terminal', () => {
    expect(terminalStyle({ ...UTF8, CI: 'true' }, TERMINAL)).toMatchObject({ live: false, colour: true });
    expect(terminalStyle({ ...UTF8, TERM: 'dumb' }, TERMINAL)).toMatchObject({
      live: false,
      colour: false,
      unicode: false,
    });
  });

  it('has no colour with any non-empty NO_COLOR, and has it with an empty one', () => {
    expect(terminalStyle({ ...UTF8, NO_COLOR: '0' }, TERMINAL)).toMatchObject({ colour: false, live: true });
    expect(terminalStyle({ ...UTF8, NO_COLOR: '' }, TERMINAL).colour).toBe(true);
  });

  it.each([
    [{ LANG: 'de_DE.UTF-8' }, true],
    [{ LANG: 'en_GB.utf8' }, true],
    [{ LANG: 'C' }, false],
    [{}, false],
    [{ LC_ALL: 'C', LANG: 'C.UTF-8' }, false],
    [{ LC_ALL: '', LC_CTYPE: 'C.UTF-8', LANG: 'C' }, true],
    [{ LANG: 'C.UTF-8', TERM: 'linux' }, false],
  ])('with %j has unicode: %s', (env, unicode) => {
    expect(terminalStyle(env, TERMINAL).unicode).toBe(unicode);
  });

  it('is plain ASCII without colour when asked, whatever the terminal can do', () => {
    expect(terminalStyle(UTF8, TERMINAL, true)).toMatchObject({ colour: false, unicode: false, live: true });
  });

  it.each([
    ['120', 120],
    ['5', 20],
    ['wide', 100],
    ['', 100],
    ['-3', 100],
  ])('with COLUMNS=%j is %i columns wide', (COLUMNS, columns) => {
    expect(terminalStyle({ COLUMNS }, TERMINAL).columns).toBe(columns);
  });
});
