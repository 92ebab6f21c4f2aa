export { type CodeOf, type FileCode, type Place, placeText, StandoffError, type StandoffErrorCode } from './error.js';
export { GAUSSIAN_SCALE, MM_PER_INCH, Random, READINGS_PER_TICK, sine_of_turns, TICKS_PER_S } from './numbers.js';
