export { type BoardOptions, EmulatedBoard, installImage } from './board.js';
export {
  type Edge,
  FlashChip,
  type FlashOperation,
  type FlashTimes,
  halfDone,
  NO_TIMES,
  REAL_TIMES,
  romStart,
} from './chip/index.js';
export { EmulatedController, type EmulatedControllerOptions } from './controller.js';
export { LinkPort } from './link-port.js';
export { type PinMillisecond, Stimulus } from './milliseconds.js';
export { type BoardInputs, type BoardWorld, LineServer, type RealTimeOptions, runRealTime } from './real-time.js';
export type { UsbDevice } from './usb/enumeration.js';
