export {
  agreeSpeed,
  type Identity,
  NO_SLOT,
  type Readings,
  readIdentity,
  readParameters,
  readReadings,
  readRing,
  speedOn,
  writeParameters,
  writeTrim,
} from './client.js';
export {
  type BoxState,
  beginDesk,
  deskStillWords,
  endDesk,
  readState,
  startedWords,
  stateWords,
  withDesk,
} from './desk.js';
export { type FlashOptions, type FlashProgress, type FlashResult, flash } from './flasher.js';
export { type Moved, portFollower } from './follow.js';
export { crc32, encodeFrame, type Frame, FrameDecoder, LINE_MOST } from './frame.js';
export { type Image, imageFile, markedImage, type Piece, readImage, readUf2, writeUf2 } from './image.js';
export { decodeLayout, encodeLayout, layoutBytes, type Records, type Value, type Values } from './layout.js';
export { IN_USE, type Line, openLine } from './line.js';
export { hasImage, identifyTelling, isBroken, leaveLoader, refuseUnusable, withBox } from './loader-session.js';
export { type AskedPort, askPort, listPorts, type PortChange, type PortList, watchPorts } from './ports.js';
export { type Answer, type Patience, refusalOf, Session, type SessionTimes } from './session.js';
export { readSlots, type Slot } from './slots.js';
export {
  type BoxEvent,
  chipWarnings,
  chipWords,
  eventText,
  identityLine,
  moduleWords,
  originWords,
  slotWords,
  startedByFault,
  startWords,
  withheldWords,
} from './words.js';
