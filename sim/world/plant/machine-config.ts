/**
 * What can be measured on the machine with a rule and a meter. The fields mirror MACHINE_ROWS; a test
 * compares this file with the rows (run it with `-u` after a change of the rows).
 */
export interface MachineConfig {
  readonly axis: {
    /** steps of the Z motor for one millimetre of travel; 20…3200 steps/mm, default 400 */
    readonly steps_per_mm: number;
    /** greatest Z speed that the motor can follow; 1…300 mm/s, default 60 */
    readonly velocity_mm_s: number;
    /** greatest Z acceleration that the motor can follow; 50…20000 mm/s², default 2500 */
    readonly acceleration_mm_s2: number;
    /** speed that the motor can take up or drop at once (pull-in speed); 0…50 mm/s, default 8 */
    readonly start_stop_mm_s: number;
    /** play between motor and carriage; 0…500 um, default 10 */
    readonly backlash_um: number;
    /** distance from the top switch down to the bottom stop; 20…300 mm, default 90 */
    readonly travel_mm: number;
    /** distance from the top switch up to the top stop; 0…20 mm, default 2 */
    readonly overtravel_mm: number;
    /** height of the torch tip above the sheet datum at the top switch; 10…250 mm, default 60 */
    readonly z_top_mm: number;
    /** height of the torch tip above the sheet datum at power-up; 0…250 mm, default 25 */
    readonly z_start_mm: number;
    /** speed at which the unpowered axis sinks; 0: it locks by itself; 0…300 mm/s, default 30 */
    readonly fall_mm_s: number;
  };
  readonly head: {
    /** lift of the floating head at which the touch-off switch closes; 0.05…5 mm, default 0.8 */
    readonly float_travel_mm: number;
    /** lift at which the floating head meets its own stop; 0.5…30 mm, default 6 */
    readonly float_max_mm: number;
    /** force with which the floating head rests on the sheet; 0.1…50 N, default 5 */
    readonly weight_N: number;
    /** time for which the touch-off switch chatters after a change; 0…200 ms, default 6; whole */
    readonly bounce_ms: number;
    /** depth of a sideways collision that knocks the head out of its holder; 0.2…20 mm, default 2 */
    readonly breakaway_mm: number;
  };
  readonly divider: {
    /** arc volts for one volt at the tap; 10…500, default 120 */
    readonly ratio: number;
    /** relative error of the ratio by the resistors’ tolerance; -0.1…0.1, default 0 */
    readonly gain_error: number;
    /** equal resistors in series in the upper part; 1…12, default 4; whole */
    readonly top_resistors: number;
    /** time constant of the tap’s resistance and filter capacitor; 0.02…10 ms, default 0.472 */
    readonly rc_ms: number;
    /** resistance of each resistor of the upper part; 1…20000 kohm, default 301 */
    readonly top_kohm: number;
    /** resistance of the lower resistor, across the tap; 0.05…2000 kohm, default 10.2 */
    readonly bottom_kohm: number;
    /** filter capacitor, across the tap; 0.01…100000 nF, default 47 */
    readonly capacitor_nF: number;
    /** values a decade of the resistors at hand: 24 for E24; 12 or 24 or 48 or 96 or 192, default 96 */
    readonly series: 12 | 24 | 48 | 96 | 192;
    /** tolerance of the resistors at hand; 0.005…20 %, default 0.1 */
    readonly tolerance_percent: number;
    /** temperature coefficient of the resistors, either way; 0…1000 ppm/K, default 10 */
    readonly drift_ppm_per_K: number;
    /** tolerance of the filter capacitor; 0.5…50 %, default 10 */
    readonly capacitor_percent: number;
    /** rated power of each resistor; 0.02…20 W, default 0.25 */
    readonly resistor_W: number;
    /** working voltage of each resistor, from its data sheet; 10…3000 V, default 350 */
    readonly resistor_V: number;
  };
  readonly isolation: {
    /** relative gain error of the isolation stage; -0.1…0.1, default 0 */
    readonly gain_error: number;
    /** offset of the isolation stage, at the converter; -50…50 mV, default 0 */
    readonly offset_mV: number;
    /** bandwidth (-3 dB, one pole) of the isolation stage; 0.1…1000 kHz, default 20 */
    readonly bandwidth_kHz: number;
    /** input resistance of the isolation stage; 1…1000000 kohm, default 1250 */
    readonly input_kohm: number;
    /** highest input voltage at which the isolation stage is linear; 0.05…20 V, default 3.3 */
    readonly input_V: number;
    /** resistance between isolation stage and converter; 0…100000 ohm, default 100 */
    readonly output_ohm: number;
    /** greatest gain error of a new isolation stage; 0…10 %, default 0.5 */
    readonly tolerance_percent: number;
    /** greatest departure from a straight line, of full scale; 0…5 %, default 0.02 */
    readonly linearity_percent: number;
    /** greatest gain drift of the isolation stage; 0…2000 ppm/K, default 40 */
    readonly drift_ppm_per_K: number;
    /** greatest offset drift, at the converter; 0…2000 uV/K, default 5 */
    readonly offset_drift_uV_per_K: number;
    /** working voltage of its reinforced insulation; 10…10000 V, default 600 */
    readonly working_V: number;
  };
  readonly converter: {
    /** resolution of the converter; 8…12, default 12; whole */
    readonly bits: number;
    /** voltage at full scale; 1…5.5 V, default 3.3 */
    readonly reference_V: number;
    /** bias at 0 V, so that a reversed polarity can be seen; 0…1000 counts, default 124; whole */
    readonly zero_counts: number;
    /** offset error of the converter; -50…50 counts, default 0 */
    readonly offset_counts: number;
    /** relative gain error of the converter; -0.05…0.05, default 0 */
    readonly gain_error: number;
    /** rms of the converter’s own noise on each reading; 0…50 counts, default 0.7 */
    readonly noise_counts: number;
    /** tolerance of the reference; 0…10 %, default 0.2 */
    readonly reference_percent: number;
    /** greatest drift of the reference; 0…1000 ppm/K, default 20 */
    readonly reference_drift_ppm_per_K: number;
    /** greatest departure from a straight line; 0…50 counts, default 1 */
    readonly linearity_counts: number;
    /** capacitance that a sample charges; 0.1…1000 pF, default 10 */
    readonly sample_pF: number;
    /** time for which a sample charges it; 0.01…100 us, default 1 */
    readonly sample_us: number;
  };
  readonly supply: {
    /** rated cutting current; 10…400 A, default 40 */
    readonly rated_A: number;
    /** cutting current that is set; 10…400 A, default 40 */
    readonly cut_A: number;
    /** duty cycle at the rated current, over ten minutes; 5…100 %, default 60 */
    readonly duty_percent: number;
    /** voltage before the pilot arc burns; 100…500 V, default 280 */
    readonly no_load_V: number;
    /** voltage between electrode and work while the pilot arc burns clear of it; 40…400 V, default 140 */
    readonly pilot_V: number;
    /** the pilot arc is lit by high frequency, not by a moving electrode; default false */
    readonly high_frequency_start: boolean;
    /** it does not fire without air pressure; default true */
    readonly air_interlock: boolean;
    /** its maker shows where the undivided arc voltage can be taken by whoever may open it; default true */
    readonly raw_voltage_terminals: boolean;
    /** phases of the mains rectifier; 1 or 3, default 1 */
    readonly phases: 1 | 3;
    /** mains frequency; 45…65 Hz, default 50 */
    readonly mains_Hz: number;
    /** mains voltage, between phases for three; 90…700 V, default 230 */
    readonly mains_V: number;
    /** rating of the breaker of the mains circuit; 6…200 A, default 32 */
    readonly breaker_A: number;
    /** output power over input power; 0.4…1, default 0.85; assumption */
    readonly efficiency: number;
    /** input power over input volt-amperes; 0.4…1, default 0.7; assumption */
    readonly power_factor: number;
    /** a released trigger leaves the arc on until it is pulled again; default false */
    readonly trigger_latching: boolean;
    /** with the trigger still pulled, a lost arc is followed by a new pilot arc; default false */
    readonly restrikes: boolean;
    /** delay of the supply’s own arc-OK contact, on and off; 0…500 ms, default 10; whole */
    readonly contact_delay_ms: number;
  };
  readonly table: {
    /** steps of the X motor for one millimetre; 10…3200 steps/mm, default 160 */
    readonly x_steps_per_mm: number;
    /** steps of the Y motor for one millimetre; 10…3200 steps/mm, default 160 */
    readonly y_steps_per_mm: number;
    /** acceleration of X and Y; 20…20000 mm/s², default 500 */
    readonly acceleration_mm_s2: number;
    /** deceleration of X and Y, planned or not; 20…20000 mm/s², default 500 */
    readonly braking_mm_s2: number;
    /** greatest step of the velocity vector with which a corner is passed; 0.1…100 mm/s, default 5; assumption */
    readonly corner_velocity_step_mm_s: number;
    /** the motion permit is watched all the time; false: only before the first motion of a contour; default true */
    readonly permit_watched: boolean;
    /** how far a cut may run off the sheet on purpose; 0…50 mm, default 5 */
    readonly run_off_mm: number;
    /** speed of rapid moves; 5…1000 mm/s, default 100 */
    readonly rapid_mm_s: number;
    /** extent of the sheet along X, from the origin; 20…3000 mm, default 600 */
    readonly sheet_width_mm: number;
    /** extent of the sheet along Y, from the origin; 20…2000 mm, default 400 */
    readonly sheet_height_mm: number;
    /** thickness of the sheet; 0.3…40 mm, default 3 */
    readonly sheet_thickness_mm: number;
  };
  readonly firing: {
    /** time from the trigger output to the closed contact; 0…100 ms, default 5; whole */
    readonly relay_close_ms: number;
    /** time from the trigger output’s end to the open contact; 0…200 ms, default 8; whole */
    readonly relay_release_ms: number;
  };
  readonly shop: {
    /** coldest place and day that the box works in; -30…60 degC, default 10 */
    readonly coldest_C: number;
    /** warmest inside of the box while it works; -20…80 degC, default 40 */
    readonly warmest_C: number;
    /** temperature at calibration; -20…60 degC, default 25 */
    readonly calibrated_C: number;
  };
  readonly meter: {
    /** accuracy of the meter of the calibration, of the reading; 0…5 %, default 0.1 */
    readonly accuracy_percent: number;
    /** the rest of its accuracy: digits, as volts in the range used; 0…5 V, default 0.02 */
    readonly accuracy_V: number;
  };
}
