import {
  type Alignment,
  asciiText,
  type TerminalStyle,
  TONE_ALARM,
  TONE_PLAIN,
  TONE_QUIET,
  TONE_STRONG,
  tableLines,
  toned,
  wrapText,
} from '../../views/text/index.js';

const LEAST_WIDTH = 30;
/** Running text is not read well in longer lines. */
const MOST_WIDTH = 110;

/** Column headings, and how each column is set. */
export interface TableHead {
  readonly titles: readonly string[];
  readonly sides: readonly Alignment[];
}

/** A printed page: headings, sentences, figures and tables that fit the terminal. */
export class Page {
  private readonly lines: string[] = [];
  /** Columns that are used. */
  readonly width: number;

  constructor(private readonly style: TerminalStyle) {
    this.width = Math.max(LEAST_WIDTH, Math.min(MOST_WIDTH, style.columns));
  }

  heading(text: string): this {
    if (this.lines.length > 0) this.lines.push('');
    return this.put([this.plain(text)], TONE_STRONG);
  }

  say(text: string, tone = TONE_PLAIN): this {
    return this.put(wrapText(this.plain(text), this.width, 2), tone);
  }

  quiet(text: string): this {
    return this.say(text, TONE_QUIET);
  }

  alarm(text: string): this {
    return this.say(text, TONE_ALARM);
  }

  strong(text: string): this {
    return this.say(text, TONE_STRONG);
  }

  /** Names and what stands for them, one below the other. */
  pairs(pairs: readonly (readonly [string, string])[]): this {
    const name_width = Math.max(...pairs.map(([name]) => [...this.plain(name)].length));
    for (const [name, text] of pairs) {
      const room = this.width - name_width - 2;
      const [first = '', ...rest] = room < 20 ? [] : wrapText(this.plain(text), room);
      if (first === '') this.say(`${name}: ${text}`);
      else {
        this.put([this.plain(name).padEnd(name_width + 2) + first]);
        this.put(rest.map((line) => ' '.repeat(name_width + 2) + line));
      }
    }
    return this;
  }

  /** A table, or, where it is wider than the page, a sentence for each row. */
  table({ titles, sides }: TableHead, rows: readonly (readonly string[])[]): this {
    const plain = (cells: readonly string[]) => cells.map((cell) => this.plain(cell));
    const lines = tableLines(plain(titles), rows.map(plain), sides, this.width);
    if (lines) return this.put(lines[0].trim() === '' ? lines.slice(1) : lines);
    for (const row of rows) {
      const cells = row.map((cell, n) => (n === 0 || titles[n] === '' || cell === '' ? cell : `${titles[n]} ${cell}`));
      this.say(cells.filter((cell) => cell !== '').join(', '));
    }
    return this;
  }

  /** Lines as they are, already in characters that the terminal shows. */
  raw(lines: readonly string[]): this {
    return this.put(lines);
  }

  text(): string {
    return `${this.lines.join('\n')}\n`;
  }

  private put(lines: readonly string[], tone = TONE_PLAIN): this {
    for (const line of lines) this.lines.push(toned(line.trimEnd(), tone, this.style));
    return this;
  }

  private plain(text: string): string {
    return this.style.unicode ? text : asciiText(text);
  }
}

/** What stands at the end of every page about the arc voltage or the supply. */
export const HIGH_VOLTAGE_CAUTIONS: readonly string[] = [
  'Voltages of an open plasma arc kill, and a supply keeps charge when it is off. Prove a circuit dead with a meter that was proved on a live source before and after.',
  'Local electrical code and licensed practice come first. Nothing here is an instruction to open a supply.',
];
