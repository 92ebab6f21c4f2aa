export { type CodeOf, type FileCode, type Place, placeText, StandoffError, type StandoffErrorCode } from './error.js';
export { MM_PER_INCH, Random, READINGS_PER_TICK, TICKS_PER_S } from './numbers.js';
export { ORIGIN_NAMES, type Origins, type OriginWord, SYSTEM_WORDS } from './origins.js';
