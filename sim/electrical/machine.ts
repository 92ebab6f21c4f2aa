import type { MachineConfig } from '../world/plant/index.js';

/** The divider's parts. `top_resistors` equal resistors, half of them in each lead; the lower one lies across the tap. */
export type Divider = Omit<MachineConfig['divider'], 'ratio' | 'gain_error' | 'rc_ms'>;

/** The part of a setup's machine section that the bench works with. */
export interface BenchMachine {
  readonly divider: Divider;
  /** With a gain of one from the tap to the converter. */
  readonly isolation: Omit<MachineConfig['isolation'], 'gain_error' | 'offset_mV'>;
  readonly converter: Omit<MachineConfig['converter'], 'offset_counts' | 'gain_error'>;
  readonly supply: Pick<MachineConfig['supply'], 'no_load_V' | 'pilot_V' | 'mains_Hz'>;
  readonly shop: MachineConfig['shop'];
  readonly meter: MachineConfig['meter'];
}

/** What the cut and the box give to the bench. */
export interface Use {
  /** Arc voltage to hold, V. */
  readonly target_V: number;
  /** Highest arc voltage that the box still counts as an arc, V. */
  readonly highest_V: number;
  /** What a millimetre of standoff is worth, V/mm; assumed until a cut is measured. */
  readonly slope_V_per_mm: number;
  /** Proportional gain of the loop, 1/s: about the angular frequency up to which it corrects. */
  readonly loop_per_s: number;
  /** Frequency of the supply's inverter, kHz; assumed. */
  readonly inverter_kHz: number;
}
