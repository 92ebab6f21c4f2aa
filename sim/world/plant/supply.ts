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

const WINDOW_S = 600;

/** Arc time within the last ten minutes, in steps of one second. */
export class DutyWindow {
  /** Duty cycle over the last ten minutes, %: arc time over 600 s, also before ten minutes have gone by. */
  percent = 0;
  private readonly seconds = new Uint16Array(WINDOW_S);
  private position = 0;
  private total_ms = 0;

  /** One second has gone by. @param on_ms arc time within it, 0…1000. */
  second(on_ms: number): void {
    this.total_ms += on_ms - this.seconds[this.position]!;
    this.seconds[this.position] = on_ms;
    this.position = (this.position + 1) % WINDOW_S;
    this.percent = this.total_ms / (WINDOW_S * 10);
  }
}
