import { describe, expect, it } from 'vitest';
import { INPUT_BREAKAWAY, INPUT_HOLD, INPUT_TOP, INPUT_TOUCH } from '../../firmware/wire/layout.gen.js';
import { Rig } from './rig.js';

// Integrator debounce (K. Kuhn, published code; maximum 3), seen and reproduced: input, count and output.
const IN = '0100111011011001000011011010001001011100101111000100010111011100010';
const INT = '0100123233233212100012123232101001012321212333210100010123233321010';
const OUT = '0000001111111111100000001111100000000111111111110000000001111111000';

describe('the integrating debounce', () => {
  it.each([
    ['touch', INPUT_TOUCH],
    ['breakaway', INPUT_BREAKAWAY],
    ['top', INPUT_TOP],
    ['external', INPUT_HOLD],
  ])('of the %s switch gives the published vector', (name, mask) => {
    const rig = new Rig();
    rig.digital_inputs = 0;
    let counts = '';
    let outputs = '';
    for (const bit of IN) {
      if (bit === '1') rig.on(mask);
      else rig.off(mask);
      rig.tick();
      counts += rig.state(`${name}_count`);
      outputs += rig.state(name);
    }
    expect(counts).toBe(INT);
    expect(outputs).toBe(OUT);
  });
});
