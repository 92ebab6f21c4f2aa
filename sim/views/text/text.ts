/** Left or right alignment of a column. */
export type Alignment = 'left' | 'right';

/**
 * Rows under a heading, columns two spaces apart, each as wide as its widest cell.
 * @returns lines, or undefined when they would be wider than `width`.
 */
export function tableLines(
  head: readonly string[],
  rows: readonly (readonly string[])[],
  alignment: readonly Alignment[],
  width: number,
): string[] | undefined {
  const widths = head.map((cell, column) =>
    Math.max(...[cell, ...rows.map((row) => row[column])].map((text) => [...text].length)),
  );
  const total = widths.reduce((sum, each) => sum + each, 0) + 2 * (widths.length - 1);
  if (total > width) return undefined;
  const line = (cells: readonly string[]) =>
    cells
      .map((cell, column) => {
        const fill = ' '.repeat(widths[column] - [...cell].length);
        return alignment[column] === 'left' ? cell + fill : fill + cell;
      })
      .join('  ')
      .trimEnd();
  return [line(head), ...rows.map(line)];
}

/** Characters of the reports beyond ASCII, each with what a plain terminal shows instead. */
const PLAIN: Readonly<Record<string, string>> = {
  '−': '-',
  '–': '-',
  '—': '-',
  '─': '-',
  '━': '=',
  '│': '|',
  '·': '.',
  '…': '...',
  '×': 'x',
  '±': '+-',
  µ: 'u',
  Ω: 'ohm',
  '’': "'",
  '∞': 'endless',
  '²': '2',
  '³': '3',
  '°': 'deg',
  '→': '->',
  '▲': '^',
  '▼': 'v',
  '≤': '<=',
  '≥': '>=',
  ' ': ' ',
};

/** The same words in bytes below 128; a character without a substitute becomes `?`. */
export function asciiText(text: string): string {
  // biome-ignore lint/suspicious/noControlCharactersInRegex: the range is what ASCII is
  return text.replace(/[^\x00-\x7f]/gu, (character) => PLAIN[character] ?? '?');
}

/** Cut to a width, with an ellipsis when something is lost. */
export function fitText(text: string, width: number): string {
  const characters = [...text];
  if (characters.length <= width) return text;
  return width <= 1 ? '…'.slice(0, width) : `${characters.slice(0, width - 1).join('')}…`;
}

/**
 * Break at spaces, but not before a %, so that no line is longer than `width`; a longer word stands alone and is cut
 * into pieces. Every line after the first begins with `indent` spaces.
 */
export function wrapText(text: string, width: number, indent = 0): string[] {
  const lines: string[] = [];
  let line = '';
  const margin = ' '.repeat(Math.min(indent, Math.max(0, width - 1)));
  for (let word of text.split(/\s+(?!%)/).filter(Boolean)) {
    if (line !== '' && [...line].length + 1 + [...word].length <= width && line !== margin) {
      line += ` ${word}`;
      continue;
    }
    if (line !== '') lines.push(line);
    let start = lines.length === 0 ? '' : margin;
    while (start.length + [...word].length > width) {
      const room = width - start.length;
      lines.push(start + [...word].slice(0, room).join(''));
      word = [...word].slice(room).join('');
      start = margin;
    }
    line = start + word;
  }
  if (line.trim() !== '') lines.push(line);
  return lines;
}

/** 83.4 s → `1:23`, with hours when there are any. NaN or endless → `-:--`. */
export function clockText(time_s: number): string {
  if (!Number.isFinite(time_s)) return '-:--';
  const whole_s = Math.max(0, Math.floor(time_s));
  const two = (value: number) => String(value).padStart(2, '0');
  const hours = Math.floor(whole_s / 3600);
  const minutes = Math.floor(whole_s / 60) % 60;
  return hours > 0 ? `${hours}:${two(minutes)}:${two(whole_s % 60)}` : `${minutes}:${two(whole_s % 60)}`;
}

/** A number with fixed decimals; `-0.00` is printed as `0.00`, no number as `-`. */
export function fixed(value: number, decimals: number): string {
  if (!Number.isFinite(value)) return '-';
  const text = value.toFixed(decimals);
  return Number(text) === 0 ? text.replace('-', '') : text;
}

/** `1 hold`, `2 holds`; a plural that takes more than an s is given. */
export function counted(count: number, word: string, plural = `${word}s`): string {
  return `${count} ${count === 1 ? word : plural}`;
}

/** `look at the switch` → `Look at the switch.` */
export const asSentence = (text: string): string => `${text.charAt(0).toUpperCase()}${text.slice(1)}.`;
