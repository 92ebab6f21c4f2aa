import type { MachineConfig } from '../world/plant/index.js';

/** How a value from outside is known; printed wherever the value is. */
type Knowledge = 'seen' | 'second hand' | 'memory' | 'computed' | 'common practice';

/** Where a value comes from and how it is known. */
export interface Source {
  readonly knowledge: Knowledge;
  readonly source: string;
}

export const known = (knowledge: Knowledge, source: string): Source => ({ knowledge, source });

/** `IEC 60063 (second hand)`; common practice has no source to name. */
export const sourceText = ({ knowledge, source }: Source): string =>
  source === '' ? `${knowledge}, no source` : `${source} (${knowledge})`;

/**
 * What the electrical arithmetic works with: the parts of a machine section as they were chosen, without what is
 * measured or assumed about the ones that were built.
 */
export interface ElectricalMachine {
  readonly divider: Divider;
  readonly isolation: Omit<MachineConfig['isolation'], 'gain_error' | 'offset_mV'>;
  readonly converter: Omit<MachineConfig['converter'], 'gain_error' | 'offset_counts'>;
  readonly supply: Pick<MachineConfig['supply'], 'no_load_V' | 'pilot_V' | 'mains_Hz'>;
  readonly shop: MachineConfig['shop'];
  readonly meter: MachineConfig['meter'];
}

/** The divider's parts. `top_resistors` equal resistors, half of them in each lead; the lower one lies across the tap. */
export type Divider = Omit<MachineConfig['divider'], 'ratio' | 'rc_ms' | 'gain_error'>;

/** What cut and box a divider is for. */
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
