/**
 * The part of a setup's machine section that the electrical arithmetic works with; the ranges and meanings are those of
 * its rows. They are not imported here: whoever joins the two passes the section as it is.
 */
export interface ElectricalMachine {
  readonly divider: Divider;
  readonly isolation: Isolation;
  readonly converter: Converter;
  readonly supply: { readonly no_load_V: number; readonly pilot_V: number; readonly mains_Hz: number };
  readonly shop: { readonly coldest_C: number; readonly warmest_C: number; readonly calibrated_C: number };
  readonly meter: { readonly accuracy_percent: number; readonly accuracy_V: number };
}

/** The divider's parts. `top_resistors` equal resistors, half of them in each lead; the lower one lies across the tap. */
export interface Divider {
  readonly top_resistors: number;
  readonly top_kohm: number;
  readonly bottom_kohm: number;
  readonly capacitor_nF: number;
  readonly series: 12 | 24 | 48 | 96 | 192;
  readonly tolerance_percent: number;
  readonly drift_ppm_per_K: number;
  readonly capacitor_percent: number;
  readonly resistor_W: number;
  readonly resistor_V: number;
}

/** The isolation stage, with a gain of one from the tap to the converter. */
export interface Isolation {
  readonly bandwidth_kHz: number;
  readonly input_kohm: number;
  readonly input_V: number;
  readonly output_ohm: number;
  readonly tolerance_percent: number;
  readonly linearity_percent: number;
  readonly drift_ppm_per_K: number;
  readonly offset_drift_uV_per_K: number;
  readonly working_V: number;
}

export interface Converter {
  readonly bits: number;
  readonly reference_V: number;
  readonly zero_counts: number;
  readonly noise_counts: number;
  readonly reference_percent: number;
  readonly reference_drift_ppm_per_K: number;
  readonly linearity_counts: number;
  readonly sample_pF: number;
  readonly sample_us: number;
}

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
