// Apart from the pages of the commands that print one at their end: here a person reads along.
import { asciiText, type TerminalStyle, wrapText } from '../../views/text/index.js';

/** Prints a sentence at once. @param indent of its further lines, 2 unless given */
export type Say = (sentence: string, indent?: number) => void;

/** Says sentences one at a time, each wrapped to the window. */
export const sayer =
  (style: TerminalStyle): Say =>
  (sentence, indent = 2) => {
    const text = wrapText(sentence, style.columns, indent).join('\n');
    process.stdout.write(`${style.unicode ? text : asciiText(text)}\n`);
  };
