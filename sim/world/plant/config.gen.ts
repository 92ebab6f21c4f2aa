// Generated from the rows by `npm run generate`. Do not edit.

import type { Fault } from './faults.js';

/** What can be measured on the machine with a rule and a meter, or read from its plates. */
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
    /** backlash between motor and carriage; 0…500 um, default 10 */
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
    /** resonance of the arm that carries the torch, up and down; 0: it is stiff; 0…60 Hz, default 0; assumption */
    readonly arm_Hz: number;
    /** damping ratio of that resonance; 0.005…0.5, default 0.05; assumption */
    readonly arm_damping: number;
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
    /** width of its four wide codes, at 1/8, 3/8, 5/8 and 7/8 of its range (RP2040 data sheet, erratum E11: about 9); 0…32 counts, default 0 */
    readonly wide_counts: number;
    /** drift of its zero during a run; -20…20 counts/s, default 0 */
    readonly zero_drift_counts_per_s: number;
    /** drift of its gain, as a sagging rail makes it; -2…2 %/s, default 0 */
    readonly rail_drift_percent_per_s: number;
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
    /** greatest speed at which it goes on through an M5 between two cutting moves; 0: it stops there; 0…1000 mm/s, default 0 */
    readonly torch_off_mm_s: number;
    /** speed of rapid moves; 5…1000 mm/s, default 100 */
    readonly rapid_mm_s: number;
    /** extent of the sheet along X, from the origin; 20…3000 mm, default 600 */
    readonly sheet_width_mm: number;
    /** extent of the sheet along Y, from the origin; 20…2000 mm, default 400 */
    readonly sheet_height_mm: number;
    /** thickness of the sheet; 0.3…40 mm, default 3 */
    readonly sheet_thickness_mm: number;
  };
  readonly origins: {
    /** X of machine zero (G53), from the lower left corner of the sheet; -3000…3000 mm, default 0 */
    readonly G53_x_mm: number;
    /** Y of machine zero (G53), from the lower left corner of the sheet; -3000…3000 mm, default 0 */
    readonly G53_y_mm: number;
    /** X of the origin of G54, from the lower left corner of the sheet; -3000…3000 mm, default 0 */
    readonly G54_x_mm: number;
    /** Y of the origin of G54, from the lower left corner of the sheet; -3000…3000 mm, default 0 */
    readonly G54_y_mm: number;
    /** X of the origin of G55, from the lower left corner of the sheet; -3000…3000 mm, default 0 */
    readonly G55_x_mm: number;
    /** Y of the origin of G55, from the lower left corner of the sheet; -3000…3000 mm, default 0 */
    readonly G55_y_mm: number;
    /** X of the origin of G56, from the lower left corner of the sheet; -3000…3000 mm, default 0 */
    readonly G56_x_mm: number;
    /** Y of the origin of G56, from the lower left corner of the sheet; -3000…3000 mm, default 0 */
    readonly G56_y_mm: number;
    /** X of the origin of G57, from the lower left corner of the sheet; -3000…3000 mm, default 0 */
    readonly G57_x_mm: number;
    /** Y of the origin of G57, from the lower left corner of the sheet; -3000…3000 mm, default 0 */
    readonly G57_y_mm: number;
    /** X of the origin of G58, from the lower left corner of the sheet; -3000…3000 mm, default 0 */
    readonly G58_x_mm: number;
    /** Y of the origin of G58, from the lower left corner of the sheet; -3000…3000 mm, default 0 */
    readonly G58_y_mm: number;
    /** X of the origin of G59, from the lower left corner of the sheet; -3000…3000 mm, default 0 */
    readonly G59_x_mm: number;
    /** Y of the origin of G59, from the lower left corner of the sheet; -3000…3000 mm, default 0 */
    readonly G59_y_mm: number;
    /** X of the origin of G59.1, from the lower left corner of the sheet; -3000…3000 mm, default 0 */
    readonly G59_1_x_mm: number;
    /** Y of the origin of G59.1, from the lower left corner of the sheet; -3000…3000 mm, default 0 */
    readonly G59_1_y_mm: number;
    /** X of the origin of G59.2, from the lower left corner of the sheet; -3000…3000 mm, default 0 */
    readonly G59_2_x_mm: number;
    /** Y of the origin of G59.2, from the lower left corner of the sheet; -3000…3000 mm, default 0 */
    readonly G59_2_y_mm: number;
    /** X of the origin of G59.3, from the lower left corner of the sheet; -3000…3000 mm, default 0 */
    readonly G59_3_x_mm: number;
    /** Y of the origin of G59.3, from the lower left corner of the sheet; -3000…3000 mm, default 0 */
    readonly G59_3_y_mm: number;
    /** X of the reference point of G28, from the lower left corner of the sheet; -3000…3000 mm, default 0 */
    readonly G28_x_mm: number;
    /** Y of the reference point of G28, from the lower left corner of the sheet; -3000…3000 mm, default 0 */
    readonly G28_y_mm: number;
    /** X of the reference point of G30, from the lower left corner of the sheet; -3000…3000 mm, default 0 */
    readonly G30_x_mm: number;
    /** Y of the reference point of G30, from the lower left corner of the sheet; -3000…3000 mm, default 0 */
    readonly G30_y_mm: number;
  };
  readonly firing: {
    /** time from the trigger output to the closed contact; 0…100 ms, default 5; whole */
    readonly relay_close_ms: number;
    /** time from the trigger output’s end to the open contact; 0…100 ms, default 8; whole */
    readonly relay_release_ms: number;
    /** power of the firing relay’s coil at its rated 12 V; 50…3000 mW, default 300 */
    readonly coil_mW: number;
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

/** What is only assumed for simulation. */
export interface WorldConfig {
  readonly sheet: {
    /** rise of the sheet along X; -0.1…0.1 mm/mm, default 0.02; assumption */
    readonly tilt_x: number;
    /** rise of the sheet along Y; -0.1…0.1 mm/mm, default 0; assumption */
    readonly tilt_y: number;
    /** height of the middle above the ends along X (parabola); -10…10 mm, default 0; assumption */
    readonly bow_mm: number;
    /** amplitude of the waviness; 0…10 mm, default 2.5; assumption */
    readonly wave_mm: number;
    /** wavelength of the waviness; 30…3000 mm, default 250; assumption */
    readonly wave_length_mm: number;
    /** direction in which the waves follow each other; 0…360 degrees, default 20; assumption */
    readonly wave_direction_deg: number;
    /** phase of the wave at the origin, unless taken from the seed; 0…1 turns, default 0; assumption */
    readonly wave_phase_turns: number;
    /** take the phase of the wave from the seed; default true; assumption */
    readonly wave_phase_from_seed: boolean;
    /** rise of the sheet under the burning arc; 0…2 mm/s, default 0.03; assumption */
    readonly heat_growth_mm_per_s: number;
    /** give of the sheet half-way between two slats; 0…1 mm/N, default 0.04; assumption */
    readonly compliance_mm_per_N: number;
    /** peak of the vibration of the sheet; 0…1 mm, default 0; assumption */
    readonly vibration_mm: number;
    /** frequency of that vibration; 1…100 Hz, default 15; assumption */
    readonly vibration_Hz: number;
    /** height of bumps, and depth of dents, that lie on the sheet by turns; 0: none; 0…5 mm, default 0; assumption */
    readonly bump_mm: number;
    /** diameter of a bump or dent; 5…300 mm, default 60; assumption */
    readonly bump_size_mm: number;
    /** distance from a bump to the next dent; no bump is wider; 10…1000 mm, default 130; assumption */
    readonly bump_pitch_mm: number;
    /** height to which the melt of a pierce heaps up where it stands; 0: none; 0…3 mm, default 0; assumption */
    readonly puddle_mm: number;
    /** depth to which a part sinks once the arc has gone on along two kerf widths of its own cut; the arc gets longer by it until it meets whole metal; 0…10 mm, default 0; assumption */
    readonly drop_mm: number;
    /** distance of the slats, which run along Y; 10…1000 mm, default 100; assumption */
    readonly slat_pitch_mm: number;
    /** height of a tipped-up offcut at its raised edge; 0: none; 0…40 mm, default 0; assumption */
    readonly offcut_height_mm: number;
    /** least X of the offcut (its low edge); 0…3000 mm, default 300; assumption */
    readonly offcut_x_mm: number;
    /** least Y of the offcut; 0…2000 mm, default 200; assumption */
    readonly offcut_y_mm: number;
    /** side of the offcut; 1…200 mm, default 30; assumption */
    readonly offcut_size_mm: number;
  };
  readonly arc: {
    /** arc voltage at the cut standoff and nominal feed, new electrode; 60…250 V, default 118; assumption */
    readonly voltage_at_cut_V: number;
    /** standoff at which that voltage holds; 0.5…10 mm, default 1.5; assumption */
    readonly cut_standoff_mm: number;
    /** rise of the voltage with arc length; 0.5…12 V/mm, default 4; assumption */
    readonly slope_V_per_mm: number;
    /** arc length from which the voltage rises less and less; 2…50 mm, default 10; assumption */
    readonly roll_off_from_mm: number;
    /** scale of that roll-off: the excess can never count for more than this; 1…100 mm, default 10; assumption */
    readonly roll_off_mm: number;
    /** feed for which the other values hold; 1…400 mm/s, default 50; assumption */
    readonly nominal_feed_mm_s: number;
    /** rise of the voltage as the feed drops from nominal to nothing; 0…40 V, default 8; assumption */
    readonly feed_effect_V: number;
    /** time constant of the feed effect; 1…1000 ms, default 50; assumption */
    readonly feed_effect_ms: number;
    /** rise of the voltage over metal that is wholly missing; 0…80 V, default 25; assumption */
    readonly crossing_V: number;
    /** time constant with which the arc meets a change of metal; 0.5…50 ms, default 2; assumption */
    readonly front_ms: number;
    /** kerf width at nominal feed; 0.5…5 mm, default 1.5; assumption */
    readonly kerf_mm: number;
    /** relative growth of the kerf as the feed drops to nothing; 0…2, default 0.5; assumption */
    readonly kerf_slow_growth: number;
    /** arc length beyond which the arc goes out; 3…60 mm, default 15; assumption */
    readonly reach_mm: number;
    /** time it takes to go out there; 1…500 ms, default 15; assumption */
    readonly reach_ms: number;
    /** excess of the voltage at the moment of transfer; 0…120 V, default 30; assumption */
    readonly pierce_excess_V: number;
    /** time constant with which the excess decays; 1…2000 ms, default 120; assumption */
    readonly pierce_decay_ms: number;
    /** rms of the pierce’s spatter noise at transfer, from tick to tick; decays with the excess; 0…40 V, default 4; assumption */
    readonly spatter_V_rms: number;
    /** rise of the voltage by wear of the electrode, each start; 0…1 V, default 0.01; assumption */
    readonly wear_V_per_start: number;
    /** rise of the voltage by wear of the electrode, each minute of arc; 0…5 V/min, default 0.05; assumption */
    readonly wear_V_per_min: number;
    /** starts that the electrode has behind it: its wear stands from the first arc; 0…5000, default 0; assumption */
    readonly used_starts: number;
    /** minutes of arc that the electrode has behind it; 0…600 min, default 0; assumption */
    readonly used_min: number;
    /** drop of the voltage while a double arc burns through the nozzle; 0: none; 0…100 V, default 0; assumption */
    readonly double_arc_V: number;
    /** double arcs a second, at random moments; 0…50 1/s, default 0.2; assumption */
    readonly double_arcs_per_s: number;
    /** length of a double arc; 1…500 ms, default 10; assumption */
    readonly double_arc_ms: number;
    /** height of the jumps of the voltage (moving roots, double arcs), of either sign; 0…60 V, default 0; assumption */
    readonly jump_V: number;
    /** jumps a second, at random moments; 0…50 1/s, default 1; assumption */
    readonly jump_rate_per_s: number;
    /** length of a jump; 1…500 ms, default 10; assumption */
    readonly jump_ms: number;
    /** time constant with which the supply’s voltage follows the arc; 0…50 ms, default 0; assumption */
    readonly source_lag_ms: number;
    /** time at no-load voltage before the pilot arc burns; 0…1000 ms, default 30; assumption */
    readonly no_load_ms: number;
    /** time after it for which the electrode touches the nozzle, with no voltage to the work, until the air lifts it; 0…1000 ms, default 0; assumption */
    readonly contact_start_ms: number;
    /** height of the jumps of the pilot’s voltage, of either sign; 0: none; 0…40 V, default 0; assumption */
    readonly pilot_jump_V: number;
    /** jumps of the pilot’s voltage a second, at random moments; 0…50 1/s, default 3; assumption */
    readonly pilot_jumps_per_s: number;
    /** slow wander of the pilot’s voltage, rms; 0…20 V, default 0; assumption */
    readonly pilot_wander_V_rms: number;
    /** corner frequency of that wander; 0.05…100 Hz, default 1; assumption */
    readonly pilot_wander_Hz: number;
    /** time after the transfer for which the pilot’s voltage is still what is read; 0…1000 ms, default 0; assumption */
    readonly pilot_persists_ms: number;
    /** least time from the closed firing contact to transfer; 0…3000 ms, default 150; assumption */
    readonly strike_delay_ms: number;
    /** greatest standoff at which the pilot arc transfers; 0.5…20 mm, default 5; assumption */
    readonly transfer_height_mm: number;
    /** chance that a start ends with the pilot arc; 0…1, default 0; assumption */
    readonly strike_fail_chance: number;
    /** time for which the arc burns on after the firing contact opens; 0…50 ms, default 2; assumption */
    readonly off_ms: number;
    /** time constant of the voltage after the arc or pilot is out; 1…1000 ms, default 30; assumption */
    readonly fall_ms: number;
  };
  readonly noise: {
    /** white noise as rms of the mean over a 1 ms tick; a 10 kHz reading carries √10 times as much; 0…20 V, default 1; assumption */
    readonly white_V_rms_per_tick: number;
    /** rms of slow noise (one pole at the corner frequency); 0…20 V, default 0.1; assumption */
    readonly coloured_V_rms: number;
    /** corner frequency of the slow noise; 0.05…400 Hz, default 5; assumption */
    readonly coloured_corner_Hz: number;
    /** peak of the rectifier’s ripple: twice the mains frequency for one phase, six times for three; 0…40 V, default 2; assumption */
    readonly ripple_V_peak: number;
    /** peak of the inverter’s ripple at the torch; 0…40 V, default 3; assumption */
    readonly inverter_V_peak: number;
    /** frequency of the inverter’s ripple; its alias is what the 10 kHz readings show; 5…200 kHz, default 20.03; assumption */
    readonly inverter_kHz: number;
    /** peak of the mains voltage that the sensing leads pick up, at any time; 0…400 V, default 0; assumption */
    readonly pickup_V_peak: number;
    /** impulses a second, at random moments; 0…500 1/s, default 2; assumption */
    readonly impulse_rate_per_s: number;
    /** height of an impulse, of either sign; 0…500 V, default 100; assumption */
    readonly impulse_V: number;
    /** width of an impulse; may be shorter than a reading; 0.001…0.9 ms, default 0.05; assumption */
    readonly impulse_ms: number;
  };
  /** What breaks, and when; empty for a sound machine. */
  readonly faults: readonly Fault[];
}
