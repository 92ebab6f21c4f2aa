export { romStart } from './boot-rom.js';
export { Chip, loadEmulatorPackage } from './chip.js';
export type { Alarm, BoardClock } from './clock.js';
export { FlashChip, type FlashOperation, type FlashTimes, halfDone, NO_TIMES, REAL_TIMES } from './flash-chip.js';
export { type Edge, Pins, pinRow, Recorder } from './pins.js';
export { Problems } from './problems.js';
export { PEND_SV } from './processor.js';
export { RAM_AT } from './registers.js';
export type { UsbController, UsbReply } from './usb-controller.js';
