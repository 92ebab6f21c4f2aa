export { type BoardOptions, EmulatedBoard } from './board.js';
export { FlashChip, type FlashOperation, type FlashTimes, halfDone, NO_TIMES, REAL_TIMES } from './flash-chip.js';
export { installImage } from './install.js';
export type { Edge } from './recorder.js';
