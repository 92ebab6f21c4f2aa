export {
  type Identity,
  type Readings,
  readIdentity,
  readParameters,
  readReadings,
  readRing,
  writeParameters,
} from './client.js';
export { crc32 } from './crc.js';
export { type FlashOptions, type FlashProgress, type FlashResult, flash } from './flasher.js';
export { encodeFrame, type Frame, FrameDecoder, LINE_MOST } from './frame.js';
export { type Image, imageFile, readImage } from './image.js';
export { decodeLayout, encodeLayout, layoutBytes, type Records, type Value, type Values } from './layout.js';
export { type Line, openLine } from './line.js';
export { type Answer, type Patience, Session, type SessionTimes } from './session.js';
export { agreeSpeed } from './speed.js';
export { type Piece, readUf2, writeUf2 } from './uf2.js';
