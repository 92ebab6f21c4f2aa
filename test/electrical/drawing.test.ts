import { describe, expect, it } from 'vitest';
import { circuitSvg, netlistOf, ohmText } from '../../sim/electrical/index.js';
import { faradText, partsList } from '../../sim/electrical/parts.js';

import { machineWith } from './machine.js';

describe('the drawing', () => {
  it.each([1, 2, 5, 8, 12])(
    'shows every one of %i upper resistors, the lower one, and text that SVG can hold',
    (count) => {
      const machine = machineWith({ 'divider.top_resistors': count });
      const svg = circuitSvg(machine);
      for (let n = 1; n <= count + 1; n++) expect(svg.match(new RegExp(`>R${n}<`, 'g'))).toHaveLength(1);
      // Every opening tag is closed, by itself or later.
      const opened = [...svg.matchAll(/<([a-z]+)[^>]*?(\/?)>/g)].filter(([, , closed]) => closed === '');
      expect(svg.match(/<\/[a-z]+>/g)).toHaveLength(opened.length);
      const right = Number(/viewBox="0 0 (\d+)/.exec(svg)![1]);
      for (const [, x] of svg.matchAll(/ x2?="([\d.]+)"/g)) expect(Number(x)).toBeLessThanOrEqual(right);
    },
  );
});

describe('the parts list', () => {
  it('counts as many resistors as the circuit has', () => {
    for (const count of [1, 4, 7]) {
      const machine = machineWith({ 'divider.top_resistors': count });
      const resistors = partsList(machine).filter(({ names }) => names.startsWith('R'));
      expect(resistors.reduce((sum, part) => sum + part.count, 0)).toBe(count + 1);
      expect(netlistOf(machine, 118).match(/^R\d+ /gm)).toHaveLength(count + 1);
    }
  });

  it.each([
    [301_000, '301 kΩ'],
    [1_250_000, '1.25 MΩ'],
    [47, '47 Ω'],
  ])('writes %i ohm as %s', (ohm, text) => expect(ohmText(ohm)).toBe(text));

  it.each([
    [47, '47 nF'],
    [4700, '4.7 µF'],
    [0.47, '470 pF'],
  ])('writes %d nF as %s', (nF, text) => expect(faradText(nF)).toBe(text));
});
