/**
 * Where the box and the host agree on bytes: the input and output blocks of a tick, in the module's linear
 * memory, little-endian. Compiled by asc and by tsc, so: plain constants, no imports.
 */

/** Readings handed over each tick: raw converter counts at 10 kHz, oldest first, as u16. */
export const READINGS_PER_TICK = 10;
/** What the board's own reference reads: half of the converter's range. */
export const REFERENCE_COUNTS = 2048;

// Input block
export const INPUT_READINGS = 0; // 10 × u16
export const INPUT_LINES = 20; // u32, LINE_*
export const INPUT_X_STEPS = 24; // i32, signed steps since the last tick
export const INPUT_Y_STEPS = 28; // i32
export const INPUT_REFERENCE = 32; // u16, raw counts of the board's own reference
export const INPUT_CAPACITY = 36; // u32, Z steps that the board can put out in a millisecond; 0: not told
export const INPUT_BYTES = 40;

// Digital inputs, one bit each. 1 means the word is true.
export const LINE_KEY = 1; // arm key on
export const LINE_REQUEST = 2; // torch request
export const LINE_STOP_CHAIN = 4; // stop chain closed
export const LINE_TOUCH = 8; // touch-off switch closed
export const LINE_BREAKAWAY = 16; // torch seated in its holder
export const LINE_TOP = 32; // Z at the top switch
export const LINE_HOLD = 64; // external hold
export const LINE_SUPPLY_CONTACT = 128; // the supply says that the arc has transferred
export const LINE_RESET = 256; // reset button
export const LINE_OVERRUN = 512; // the board: the last tick was late
export const LINE_RELAY = 1024; // readback: the firing contact is closed
export const LINE_REST = 2048; // the board: outputs are to rest

// Output block
export const OUTPUT_Z_STEPS = 0; // i32, signed, up is positive, to spread over the next millisecond
export const OUTPUT_LINES = 4; // u32, DRIVE_*
export const OUTPUT_MODE = 8; // u32
export const OUTPUT_STAGE = 12; // u32
export const OUTPUT_HOLD = 16; // u32
export const OUTPUT_FAULT = 20; // u32
export const OUTPUT_REFUSAL = 24; // u32
export const OUTPUT_Z = 28; // i32, steps since the box took Z over
export const OUTPUT_FAULT_READING_V = 32; // f32, the reading that caused the fault
export const OUTPUT_ARC_V = 36; // f32, mean over half a mains period
export const OUTPUT_TARGET_V = 40; // f32, with trim and feed effect
export const OUTPUT_ERROR_MM = 44; // f32, standoff error as the regulator sees it, high is positive
export const OUTPUT_Z_VELOCITY_MM_S = 48; // f32
export const OUTPUT_FEED_MM_S = 52; // f32, filtered
export const OUTPUT_SLOPE_X = 56; // f32, mm/mm
export const OUTPUT_SLOPE_Y = 60; // f32
export const OUTPUT_FEED_EFFECT_V = 64; // f32, as learned
export const OUTPUT_FLAGS = 68; // u32, FLAG_*
export const OUTPUT_TICK_V = 72; // f32, mean of the ten readings of this tick
export const OUTPUT_BYTES = 80;

// Digital outputs
export const DRIVE_TRIGGER = 1; // torch trigger
export const DRIVE_PERMIT = 2; // motion permit
export const DRIVE_LATCHED_STOP = 4; // 1: the latched stop is open
export const DRIVE_Z_OWNED = 8; // the box owns Z

export const FLAG_ARC_OK = 1;
export const FLAG_HOMED = 2; // Z has been at the top switch since power-up
export const FLAG_VELOCITY_LIMITED = 4;
export const FLAG_ACCELERATION_LIMITED = 8;
export const FLAG_TARGET_KEPT = 16; // learning found no steady feed: the last target is kept
export const FLAG_SPIKE = 32; // a reading was set aside in this tick
export const FLAG_NEAR_ZERO = 64; // the arc voltage is near zero
export const FLAG_CONVERTER_DEAD = 128; // the reference is off: the readings count as the top of the range

// Answers of set_parameter
export const SET_DONE = 0;
export const SET_UNKNOWN = 1; // no such id
export const SET_RANGE = 2; // outside its range, or not a number
export const SET_NOT_NOW = 3; // only with the key off, at rest, voltage near zero
