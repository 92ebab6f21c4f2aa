/** What a restart of the board leaves of a fault: the module decides it, for whatever number it is handed. */
import { describe, expect, it } from 'vitest';
import { FAULT_ROWS } from '../../firmware/wire/code-rows.js';
import { FAULT_RELAY_CLOSED, FAULT_VOLTAGE_AT_REST, MODE_FAULT, MODE_REST } from '../../firmware/wire/codes.gen.js';
import * as wire from '../../firmware/wire/layout.gen.js';
import { Rig } from './rig.js';

const LATCHING = FAULT_ROWS.filter(({ latches_stop }) => latches_stop);
const OTHERS = FAULT_ROWS.filter(({ latches_stop }) => !latches_stop).map(({ code }) => code);

/** A rig whose module has just been restarted. */
function restarted(fault: number): Rig {
  const rig = new Rig();
  rig.run(300);
  rig.controller.restart(fault);
  return rig;
}
const latched = (rig: Rig): boolean => (rig.controller.digital_outputs & wire.OUTPUT_LATCHED_STOP) !== 0;
const word = (rig: Rig, at: number): number => rig.controller.output.integers[at / 4];
const where = (rig: Rig) => [word(rig, wire.OUTPUT_MODE), word(rig, wire.OUTPUT_FAULT), latched(rig)];

describe('a restart', () => {
  it.each(LATCHING.map(({ name, code }) => [name, code] as const))(
    'leaves the fault %s with the latched stop set in every tick, until the reset',
    (_, code) => {
      const rig = restarted(code);
      for (let ms = 0; ms < 3000; ms++) {
        rig.run(1);
        expect([ms, ...where(rig)]).toEqual([ms, MODE_FAULT, code, true]);
      }
      rig.digital_inputs |= wire.INPUT_RESET;
      rig.run(1);
      expect(where(rig)).toEqual([MODE_REST, 0, false]);
    },
  );

  it('is reset by a person only when the cause is gone: no voltage, firing contact open, request off', () => {
    const hindered: readonly ((rig: Rig) => void)[] = [
      (rig) => {
        rig.true_V = 60;
      },
      (rig) => {
        rig.digital_inputs |= wire.INPUT_RELAY;
      },
      (rig) => {
        rig.digital_inputs |= wire.INPUT_REQUEST;
      },
    ];
    for (const [index, hinder] of hindered.entries()) {
      const rig = restarted(FAULT_RELAY_CLOSED);
      hinder(rig);
      rig.run(100);
      rig.digital_inputs |= wire.INPUT_RESET;
      rig.run(10);
      expect([index, latched(rig)]).toEqual([index, true]);
    }
  });

  it('says the voltage that is still there as the fault that it is', () => {
    const rig = restarted(FAULT_RELAY_CLOSED);
    rig.true_V = 60;
    rig.run(1500);
    expect(where(rig)).toEqual([MODE_FAULT, FAULT_VOLTAGE_AT_REST, true]);
  });

  it('ends every other fault, and takes no number for one that is none', () => {
    for (const fault of [...OTHERS, FAULT_ROWS.length, 32 + FAULT_RELAY_CLOSED, -1, 0x7fffffff]) {
      const rig = restarted(fault);
      rig.run(1);
      expect([fault, ...where(rig)]).toEqual([fault, MODE_REST, 0, false]);
    }
  });

  it('wants the key turned off and on, whatever the fault', () => {
    const rig = restarted(FAULT_RELAY_CLOSED);
    rig.digital_inputs |= wire.INPUT_KEY;
    rig.run(100);
    rig.digital_inputs |= wire.INPUT_RESET;
    rig.run(100);
    expect(word(rig, wire.OUTPUT_MODE)).toBe(MODE_REST);
    expect(word(rig, wire.OUTPUT_REFUSAL)).not.toBe(0);
  });
});
