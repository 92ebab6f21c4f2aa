/** What the input current depends on. */
export interface InputPower {
  readonly mains_V: number;
  readonly phases: 1 | 3;
  readonly efficiency: number;
  readonly power_factor: number;
}

/**
 * Current from each conductor of the mains, A: arc power over efficiency, power factor and mains voltage
 * (times √3 for three phases, the voltage being that between phases).
 */
export function inputCurrent_A(true_V: number, cut_A: number, input: InputPower): number {
  const volts = input.mains_V * (input.phases === 3 ? Math.sqrt(3) : 1);
  return (true_V * cut_A) / (input.efficiency * input.power_factor * volts);
}
