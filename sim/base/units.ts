/**
 * Branded numbers: a length in millimetres cannot be passed where volts are wanted. Inner loops work on
 * plain `number`s whose names carry the unit (`z_mm`); the brands stand at the public borders.
 */
declare const unit: unique symbol;
type Quantity<U extends string> = number & { readonly [unit]: U };

export type Millimetres = Quantity<'mm'>;
export type MillimetresPerSecond = Quantity<'mm/s'>;
export type Volts = Quantity<'V'>;
export type Amperes = Quantity<'A'>;
export type Milliseconds = Quantity<'ms'>;
export type Seconds = Quantity<'s'>;

export const mm = (value: number): Millimetres => value as Millimetres;
export const mm_per_s = (value: number): MillimetresPerSecond => value as MillimetresPerSecond;
export const volts = (value: number): Volts => value as Volts;
export const amperes = (value: number): Amperes => value as Amperes;
export const ms = (value: number): Milliseconds => value as Milliseconds;
export const seconds = (value: number): Seconds => value as Seconds;

/** Millimetres per inch; exact by the 1959 international yard and pound agreement. */
export const MM_PER_INCH = 25.4;

/** A feed word in units a minute → mm/s. */
export const perMinute = (value_mm_per_min: number): MillimetresPerSecond => mm_per_s(value_mm_per_min / 60);

/** Ticks of the control module a second; every host loop counts in these. */
export const TICKS_PER_S = 1000;
/** Converter readings handed over with each tick. */
export const READINGS_PER_TICK = 10;
