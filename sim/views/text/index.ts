export {
  DotCanvas,
  type DrawStyle,
  type Layer,
  Picture,
  type StreamTraits,
  type TerminalStyle,
  TONE_ALARM,
  TONE_HOLD,
  TONE_PLAIN,
  TONE_QUIET,
  TONE_STRONG,
  TONE_TARGET,
  terminalStyle,
  toned,
} from './picture.js';
export { type Alignment, asciiText, clockText, counted, fitText, fixed, tableLines, wrapText } from './text.js';
