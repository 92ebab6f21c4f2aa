export { type CodeOf, type FileCode, type Place, placeText, StandoffError, type StandoffErrorCode } from './error.js';
export { GAUSSIAN_SCALE, Random } from './random.js';
export { sine_of_turns } from './sine.js';
export { MM_PER_INCH, READINGS_PER_TICK, TICKS_PER_S } from './units.js';
