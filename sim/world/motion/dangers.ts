import type { Line } from './line.js';
import { DANGER_ROWS, Group } from './word-rows.js';

/** Follows the torch through a program, and tells what is dangerous or senseless about it. */
export class TorchWatch {
  on = false;
  /** Anything was cut in the program. */
  private cut = false;
  private on_line = 0;
  private on_column = 0;
  private on_quote = '';

  constructor(private readonly line: Line) {}

  turnOn(): void {
    const { source, codes } = this.line;
    if (this.on) return;
    this.on = true;
    this.cut = false;
    const from = codes.start[Group.torch];
    this.on_line = source.line;
    this.on_column = from - source.line_start + 1;
    this.on_quote = source.quote(from, codes.end[Group.torch]);
  }

  turnOff(): void {
    if (this.on && !this.cut) this.tellNothingCut();
    this.on = false;
  }

  moved(rapid: boolean): void {
    if (rapid) this.movedRapidly();
    else if (this.on) this.cut = true;
    else this.line.warnMove(DANGER_ROWS.cut_while_off);
  }

  private movedRapidly(): void {
    const { rapid_while_on } = DANGER_ROWS;
    if (!this.on) return;
    const same_line = this.line.code(Group.torch) >= 0;
    const remedy = 'M3 comes before the motion of its line: put it on the line after the rapid';
    this.line.warnMove(same_line ? { ...rapid_while_on, remedy } : rapid_while_on);
  }

  pause(): void {
    if (this.on) this.line.warnCode(Group.stopping, DANGER_ROWS.pause_while_on);
    this.turnOff();
  }

  /** @param stated by M2 or M30 on the current line; else by a closing % or the end of the text */
  end(stated: boolean): void {
    const { on_at_end } = DANGER_ROWS;
    if (this.on && stated) this.line.warnCode(Group.stopping, on_at_end);
    else if (this.on) this.line.warnLine(on_at_end);
    this.turnOff();
  }

  private tellNothingCut(): void {
    const { word, says, remedy } = DANGER_ROWS.nothing_cut;
    this.line.source.found.add(word, {
      level: 'warning',
      code: 'program-danger',
      line: this.on_line,
      column: this.on_column,
      quote: this.on_quote,
      what: says,
      remedy,
    });
  }
}
