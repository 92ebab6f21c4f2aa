import { describe, expect, it } from 'vitest';
import { projectFiles } from './files.js';
import { circles } from './graph.js';
import { chipErrors, includeGraph } from './includes.js';

const c = (path: string, ...names: string[]) => ({
  path,
  source: names.map((name) => `#include "${name}"\n`).join(''),
});

describe('the includes of the C files', () => {
  it('of the project make no circle', () => {
    const files = projectFiles().filter(({ path }) => /^firmware\/.*\.[ch]$/.test(path));
    expect(files.length).toBeGreaterThan(60);
    expect(circles(includeGraph(files))).toEqual([]);
  });

  it('make a circle when two files ask each other, be it from the source alone', () => {
    const files = [
      c('box/tick.c', 'tick.h', 'events.h'),
      c('box/tick.h'),
      c('box/events.c', 'tick.h'),
      c('box/events.h'),
    ];
    expect(circles(includeGraph(files))).toEqual([['box/events', 'box/tick']]);
  });

  it('make none where a board fulfils the header of the folder above', () => {
    const files = [c('box/port.h'), c('box/chip/port.c', 'port.h', 'pins.h'), c('box/chip/pins.h', 'port.h')];
    expect(circles(includeGraph(files))).toEqual([]);
  });
});

describe('the C of box, loader and wire', () => {
  it('names no pin, register or address of a chip', () => {
    const files = projectFiles().filter(({ path }) => path.startsWith('firmware/'));
    expect(files.flatMap(chipErrors)).toEqual([]);
  });

  it.each([
    ['a pin', 'port_trigger(BIT(PIN_TRIGGER));'],
    ['a register', 'REGISTER(SIO_OUT_SET) = pins;'],
    ['an address of RAM', '#define RAM_AT 0x20000000u'],
    ['an address of a peripheral', '*(uint32_t *)0x40058000 = 1;'],
    ['an include past board.gen.h', '#include "../ports/rp2040/uart.h"'],
  ])('is found out when it names %s, and a port is not', (_, source) => {
    expect(chipErrors({ path: 'firmware/loader/services.c', source })).toHaveLength(1);
    expect(chipErrors({ path: 'firmware/ports/rp2040/uart.c', source })).toEqual([]);
  });
});
