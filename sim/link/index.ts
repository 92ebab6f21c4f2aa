export { crc32 } from './crc.js';
export { encodeFrame, type Frame, FrameDecoder, LINE_MOST } from './frame.js';
export { decodeLayout, encodeLayout, layoutBytes, type Value, type Values } from './layout.js';
