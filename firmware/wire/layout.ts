/**
 * Where the box and the host agree on bytes: the input and output blocks of a tick, in the module's linear
 * memory, little-endian. Compiled by asc and by tsc, so: plain constants, no imports.
 */

/** Readings handed over each tick: raw converter counts at 10 kHz, oldest first, as u16. */
export const READINGS_PER_TICK = 10;
/** Z steps that the board's pulses leave room for in a tick; what is more comes late. */
export const Z_STEPS_PER_TICK = 81;

// Input block
export const INPUT_READINGS = 0; // 10 × u16
export const INPUT_DIGITAL = 20; // u32, INPUT_*
export const INPUT_X_STEPS = 24; // i32, signed steps since the last tick
export const INPUT_Y_STEPS = 28; // i32
export const INPUT_BYTES = 32;

// Digital inputs, one bit each. 1 means the word is true.
export const INPUT_KEY = 1; // arm key on
export const INPUT_REQUEST = 2; // torch request
export const INPUT_STOP_CHAIN = 4; // stop chain closed
export const INPUT_TOUCH = 8; // touch-off switch closed
export const INPUT_BREAKAWAY = 16; // torch seated in its holder
export const INPUT_TOP = 32; // Z at the top switch
export const INPUT_HOLD = 64; // external hold
export const INPUT_SUPPLY_CONTACT = 128; // the supply says that the arc has transferred
export const INPUT_RESET = 256; // reset button
export const INPUT_OVERRUN = 512; // the board: the last tick was late

// Output block
export const OUTPUT_Z_STEPS = 0; // i32, signed, up is positive, to spread over the next millisecond
export const OUTPUT_DIGITAL = 4; // u32, OUTPUT_*
export const OUTPUT_MODE = 8; // u32
export const OUTPUT_STAGE = 12; // u32
export const OUTPUT_HOLD = 16; // u32
export const OUTPUT_FAULT = 20; // u32
export const OUTPUT_REFUSAL = 24; // u32
export const OUTPUT_Z = 28; // i32, steps since the box took Z over
export const OUTPUT_FAULT_READING_V = 32; // f32, the reading that caused the fault
export const OUTPUT_MEASURED_V = 36; // f32, mean over half a mains period
export const OUTPUT_TARGET_V = 40; // f32, with trim and feed effect
export const OUTPUT_MEASURED_ERROR_MM = 44; // f32, standoff error as the regulator sees it, high is positive
export const OUTPUT_Z_VELOCITY_MM_S = 48; // f32
export const OUTPUT_MEASURED_FEED_MM_S = 52; // f32, filtered
export const OUTPUT_SLOPE_X = 56; // f32, mm/mm
export const OUTPUT_SLOPE_Y = 60; // f32
export const OUTPUT_FEED_EFFECT_V = 64; // f32, as learned
export const OUTPUT_FLAGS = 68; // u32, FLAG_*
export const OUTPUT_TICK_V = 72; // f32, mean of the ten readings of this tick
export const OUTPUT_BYTES = 80;

// Digital outputs
export const OUTPUT_TRIGGER = 1; // torch trigger
export const OUTPUT_PERMIT = 2; // motion permit
export const OUTPUT_LATCHED_STOP = 4; // 1: the latched stop is open
export const OUTPUT_Z_OWNED = 8; // the box owns Z

export const FLAG_ARC_OK = 1;
export const FLAG_HOMED = 2; // Z has been at the top switch since power-up
export const FLAG_VELOCITY_LIMITED = 4;
export const FLAG_ACCELERATION_LIMITED = 8;
export const FLAG_TARGET_KEPT = 16; // learning found no steady feed: the last target is kept
export const FLAG_SPIKE = 32; // a reading was set aside in this tick
export const FLAG_NEAR_ZERO = 64; // the arc voltage is near zero

// Answers of set_parameter
export const SET_DONE = 0;
export const SET_UNKNOWN = 1; // no such id
export const SET_RANGE = 2; // outside its range, or NaN
export const SET_NOT_NOW = 3; // only with the key off, at rest, voltage near zero
