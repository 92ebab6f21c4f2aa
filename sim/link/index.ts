export { agreeSpeed, type Identity, readIdentity, readParameters, readRing, writeParameters } from './client.js';
export { crc32 } from './crc.js';
export { type FlashOptions, type FlashProgress, type FlashResult, flash, imageFile } from './flasher.js';
export { encodeFrame, type Frame, FrameDecoder, LINE_MOST } from './frame.js';
export { type Image, readImage } from './image.js';
export { decodeLayout, encodeLayout, layoutBytes, type Value, type Values } from './layout.js';
export { type Line, openLine } from './line.js';
export { type Answer, SESSION_TIMES, Session, type SessionTimes } from './session.js';
export { type Piece, RP2040_FAMILY, readUf2, writeUf2 } from './uf2.js';
