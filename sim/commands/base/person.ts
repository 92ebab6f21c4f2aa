import { createInterface, type Interface } from 'node:readline';

/** Whoever sits at the keyboard, or what a pipe brings in their place: one line after the other, as they come. */
export class Person {
  private readonly reader: Interface;
  private readonly lines: string[] = [];
  private waiting: ((line: string | undefined) => void) | undefined;
  private ended = false;

  constructor(input: NodeJS.ReadableStream = process.stdin) {
    this.reader = createInterface({ input });
    this.reader.on('line', (line) => this.give(line.trim()));
    this.reader.on('close', () => {
      this.ended = true;
      if (this.waiting) this.give(undefined);
    });
  }

  /** The next line; undefined when there will be none. A second call before that answers the first with undefined. */
  line(): Promise<string | undefined> {
    if (this.lines.length > 0) return Promise.resolve(this.lines.shift());
    if (this.ended) return Promise.resolve(undefined);
    this.waiting?.(undefined);
    return new Promise((resolve) => {
      this.waiting = resolve;
    });
  }

  /** No more lines are read: whoever waits for one gets undefined. */
  close(): void {
    this.reader.close();
  }

  private give(line: string | undefined): void {
    const { waiting } = this;
    this.waiting = undefined;
    if (waiting) waiting(line);
    else if (line !== undefined) this.lines.push(line);
  }
}
