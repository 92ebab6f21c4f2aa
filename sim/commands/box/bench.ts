// The bench of a real board: a person is told what to do, and says when it is done. Apart from bring-up, which is about steps and record.
import { PIN_ROWS } from '../../../firmware/ports/rp2040/board-rows.js';
import { StandoffError } from '../../base/index.js';
import { type Line, openLine } from '../../link/index.js';
import type { Bench, Deed, Wire } from '../../run/bring-up/index.js';
import type { Person } from '../base/person.js';

/** Where a wire's end is on the board. */
function placeOf(name: string): string {
  const row = PIN_ROWS.find((each) => each.name === name);
  return row ? `GPIO${row.gpio} (${name})` : name;
}

const wireWords = ({ from, to, rc }: Wire): string =>
  rc
    ? `47 kohm from ${placeOf(from)} to ${placeOf(to)}, and 100 uF from ${placeOf(to)} to 0 V`
    : `a jumper from ${placeOf(from)} to ${placeOf(to)}`;

/** A real board at a port, and a person beside it. */
export class PersonBench implements Bench {
  readonly kind = 'board';
  readonly patience_ms = 120_000;
  way: Bench['way'] = 'serial';

  constructor(
    readonly address: string,
    private readonly person: Person,
    private readonly say: (sentence: string, indent?: number) => void,
    private readonly signal: AbortSignal,
  ) {}

  async open(): Promise<Line> {
    const line = await openLine(this.address);
    this.way = line.of_the_box ? 'usb' : 'serial';
    return line;
  }

  now_ms(): number {
    return performance.now();
  }

  pause(ms: number): Promise<void> {
    return new Promise((resolve) => setTimeout(resolve, ms));
  }

  async deed(deed: Deed): Promise<boolean> {
    // Whoever waits sees the cable go.
    if (deed.kind === 'cable') return true;
    const { wires } = deed;
    this.say(wires.length === 0 ? 'All jumpers off.' : `All other jumpers off; ${wires.map(wireWords).join('; ')}.`, 4);
    this.say('Enter when that is done, s to leave this step out, q to end.', 4);
    const answer = (await this.person.line())?.toLowerCase();
    if (this.signal.aborted || answer === undefined || answer === 'q') {
      throw new StandoffError('answer-choice', 'ended by the person', 'go on with --resume');
    }
    return answer !== 's';
  }
}
