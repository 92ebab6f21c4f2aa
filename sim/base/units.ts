/** Millimetres per inch; exact by the 1959 international yard and pound agreement. */
export const MM_PER_INCH = 25.4;

/** Ticks of the control module a second; every host loop counts in these. */
export const TICKS_PER_S = 1000;
/** Converter readings in a tick. */
export const READINGS_PER_TICK = 10;
