import { INPUT_KEY } from '../../../firmware/wire/layout.js';
import type { TraceBlock } from '../../run/trace/index.js';
import { type SeenHistory, seenStatus } from '../../views/terminal/index.js';
import { fixed } from '../../views/terminal/text.js';

const S_MS = 1000;

/** A watched box as plain lines: one when something changes, and one each second in between. */
export class WatchText {
  private state = '';
  private said_tick = Number.NEGATIVE_INFINITY;

  /** Lines for what a block brought; the history has taken it in already. */
  lines(block: TraceBlock, history: SeenHistory): string[] {
    const last = block.count - 1;
    if (last < 0) return [];
    const state = [block.mode, block.hold, block.fault, block.refusal].map((column) => column[last]).join();
    const key = block.digital_inputs[last] & INPUT_KEY;
    const tick = block.first_tick + last;
    const due = tick - this.said_tick >= S_MS || tick < this.said_tick;
    if (`${state},${key}` === this.state && !due) return [];
    this.state = `${state},${key}`;
    this.said_tick = tick;
    const figures = `${fixed(block.measured_V[last], 1)} V, target ${fixed(block.target_V[last], 1)}`;
    const words = seenStatus(history).text.replace(/\.$/, '');
    return [`${(tick / S_MS).toFixed(3).padStart(10)} s  ${figures}  ${words}, key ${key === 0 ? 'off' : 'on'}`];
  }
}
