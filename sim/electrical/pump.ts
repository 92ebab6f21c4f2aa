/**
 * The charge pump of hardware-notes/firing.md as values that follow the coil. Only the job's warnings use it, and the check
 * against a circuit simulator.
 */

/** The values of the page: coil at 12 V, C1 and C2 each, C3, R1, R4. */
export const PUMP = { coil_mW: 300, coil_ohm: 480, coupling_uF: 12, reservoir_uF: 22, stage_ohm: 47, bleed_kohm: 10 };

/** Rated voltage of the coil, V. */
export const COIL_V = 12;

/** Parts of the pump by their values, the coil among them. */
export type PumpValues = Omit<typeof PUMP, 'coil_mW'>;

/**
 * The same circuit for another coil of 12 V: every resistance less, every capacitance more in the same proportion, so each
 * voltage and each time is what it was.
 * @param coil_mW power of the coil at 12 V, above 0
 */
export function pumpFor(coil_mW: number): PumpValues {
  const more = coil_mW / PUMP.coil_mW;
  return {
    coil_ohm: (COIL_V * COIL_V * 1000) / coil_mW,
    coupling_uF: PUMP.coupling_uF * more,
    reservoir_uF: PUMP.reservoir_uF * more,
    stage_ohm: PUMP.stage_ohm / more,
    bleed_kohm: PUMP.bleed_kohm / more,
  };
}

const digits = (value: number): string => `${Number(value.toPrecision(2))}`;

/** What is wrong with the page's pump for this coil, and what to do; undefined: nothing. */
export function pumpWarning(coil_mW: number): string | undefined {
  if (coil_mW <= PUMP.coil_mW) return undefined;
  const { coupling_uF, reservoir_uF, stage_ohm, bleed_kohm } = pumpFor(coil_mW);
  return (
    `machine.firing.coil_mW is ${coil_mW}, above the ${PUMP.coil_mW} that the pump of hardware-notes/firing.md holds: the relay ` +
    `may not close; take a coil of at most ${PUMP.coil_mW} mW at ${COIL_V} V, or build the pump with C1 and C2 of ` +
    `${digits(coupling_uF)} µF, C3 of ${digits(reservoir_uF)} µF, R1 of ${digits(stage_ohm)} ohm, R4 of ${digits(bleed_kohm)} kohm, ` +
    `and a stage and a supply for ${digits(coil_mW / PUMP.coil_mW)} times the current`
  );
}
