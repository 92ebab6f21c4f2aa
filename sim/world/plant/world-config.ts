import type { Fault } from './faults.js';

/**
 * What is only assumed for simulation. The fields mirror WORLD_ROWS; a test compares this file with the
 * rows (run it with `-u` after a change of the rows).
 */
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
    /** give of the sheet half-way between two slats; 0…1 mm/N, default 0.04; assumption */
    readonly compliance_mm_per_N: number;
    /** distance of the slats, which run along Y; 10…1000 mm, default 100; assumption */
    readonly slat_pitch_mm: number;
    /** rise of the sheet under the burning arc; 0…2 mm/s, default 0.03; assumption */
    readonly heat_growth_mm_per_s: number;
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
    /** time at no-load voltage before the pilot arc burns; 0…1000 ms, default 30; assumption */
    readonly no_load_ms: number;
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
    /** corner frequency of the slow noise; 0.05…100 Hz, default 5; assumption */
    readonly coloured_corner_Hz: number;
    /** peak of the rectifier’s ripple: twice the mains frequency for one phase, six times for three; 0…40 V, default 2; assumption */
    readonly ripple_V_peak: number;
    /** peak of the inverter’s ripple at the torch; 0…40 V, default 3; assumption */
    readonly inverter_V_peak: number;
    /** frequency of the inverter’s ripple; its alias is what the 10 kHz readings show; 5…200 kHz, default 20.03; assumption */
    readonly inverter_kHz: number;
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
