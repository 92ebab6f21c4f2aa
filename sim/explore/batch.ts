import { INPUT_READINGS } from '../../firmware/wire/layout.js';
import { REGULATOR_AT } from '../../firmware/wire/state-fields.js';
import type { WasmController } from '../run/controller/index.js';
import { batchCode, KNOWN_BYTES, LIST_WORDS, MODULE_BYTES, PLACE, TEMPLATE_BYTES } from './batch-code.js';
import { type ChoiceTable, ROW } from './choices.js';
import { restore } from './key.js';
import { FEEDS, type Templates, VOLTAGES } from './world.js';

type Run = (rows: number, row_bytes: number, words_end: number, key: number) => number;
/** One tick that was seen: its choice, the key after it, its facts. */
export type OnSighting = (choice: number, after: number, facts: number) => void;

/**
 * Runs all choices of a state in a loop that is WebAssembly itself, in the control module's own page: the host need not be
 * asked between two ticks. What it does is what `TickRunner.step` does; a test compares the two.
 */
export class Batch {
  private readonly run: Run;
  /** The page, from its beginning. */
  private readonly page: Int32Array;
  private readonly state: number;
  /** The table whose places of words stand in the page. */
  private standing: ChoiceTable | undefined;

  constructor(controller: WasmController, templates: Templates) {
    const { memory, tick } = controller.linked;
    const { byteOffset: state, byteLength } = controller.state();
    const { byteOffset: output } = controller.output.integers;
    if (state + byteLength > MODULE_BYTES) throw new Error('the control module has outgrown its part of the page');
    const input = controller.readings.byteOffset - INPUT_READINGS;
    const compiled = new WebAssembly.Module(batchCode({ state, input, output }));
    const instance = new WebAssembly.Instance(compiled, { control: { memory, tick } } as never);
    this.run = instance.exports.run as unknown as Run;
    this.page = new Int32Array(memory.buffer);
    this.state = state;
    VOLTAGES.forEach(({ counts }, voltage) => {
      this.page[PLACE.counts / 4 + voltage] = counts;
      FEEDS.forEach((_, feed) => {
        const template = templates[voltage][feed];
        if (template.byteLength !== TEMPLATE_BYTES) throw new Error('a template has another length');
        this.page.set(template, (PLACE.templates + (voltage * FEEDS.length + feed) * TEMPLATE_BYTES) / 4);
      });
    });
  }

  /** One tick from a key under each of its choices; each that differs from the others is told at least once, the first first. */
  runAll(key: number, table: ChoiceTable, onSighting: OnSighting): void {
    const { page } = this;
    restore(key, page.subarray(PLACE.image / 4), REGULATOR_AT / 4);
    page.fill(-1, PLACE.known / 4, (PLACE.known + KNOWN_BYTES) / 4);
    // Between two batches anybody may have run ticks.
    page[PLACE.standing / 4] = 0;
    this.putPlaces(table);
    const { rows, count, width } = table;
    const most = Math.floor((PLACE.end - PLACE.rows) / 4 / width);
    const words_end = PLACE.words + 4 * (width - ROW.values);
    for (let from = 0; from < count; ) {
      const taken = Math.min(most, count - from);
      page.set(rows.subarray(from * width, (from + taken) * width), PLACE.rows / 4);
      const done = this.run(taken, 4 * width, words_end, key);
      this.tell(from, onSighting);
      from += done;
    }
  }

  private putPlaces(table: ChoiceTable): void {
    if (table === this.standing) return;
    this.standing = table;
    const { words } = table;
    for (let at = 0; at < words.length; at++) this.page[PLACE.words / 4 + at] = this.state + 4 * words[at];
  }

  private tell(from: number, onSighting: OnSighting): void {
    const { page } = this;
    const listed = page[PLACE.listed / 4];
    for (let entry = 0; entry < listed; entry++) {
      const at = PLACE.list / 4 + entry * LIST_WORDS;
      onSighting(from + page[at], page[at + 1] >>> 0, page[at + 2]);
    }
  }
}
