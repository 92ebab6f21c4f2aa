/**
 * One interface, several controllers: the module in this process, an emulated board, a real board. Once a
 * tick the caller fills the input fields and the readings, calls `tick`, and reads the output fields.
 */
export interface Controller {
  /** Ten raw converter counts, oldest first. */
  readonly readings: Uint16Array;
  /** INPUT_* bits. */
  digital_inputs: number;
  x_steps: number;
  y_steps: number;
  /** Raw counts of the board's own reference. */
  reference: number;

  tick(): void;

  readonly z_steps: number;
  /** OUTPUT_* bits. */
  readonly digital_outputs: number;
  readonly output: ControllerOutput;
  /** SHA-256 of the module that answers, lower-case hex. */
  readonly module_sha256: string;

  /**
   * Parameters change only with the key off, at rest and with the voltage near zero (trim_V excepted).
   * @returns SET_DONE or the reason, SET_* of firmware/wire/layout.gen.ts.
   */
  setParameter(id: number, value: number): number;
  parameter(id: number): number;
}

/** The output block as two views over the same bytes; index = byte offset / 4. */
export interface ControllerOutput {
  readonly integers: Int32Array;
  readonly reals: Float32Array;
}
