import { MODE_FAULT, MODE_FOLLOW, MODE_REST } from '../../firmware/wire/codes.gen.js';
import { FLAG_NEAR_ZERO, INPUT_BYTES, INPUT_KEY, OUTPUT_BYTES } from '../../firmware/wire/layout.gen.js';
import { LOCKSTEP_KEPT, PAYLOAD_MOST } from '../../firmware/wire/link-rows.js';
import { PARAMETER_ROWS } from '../../firmware/wire/parameter-rows.js';
import { decodeLayout, layoutBytes, type Values } from '../../sim/link/index.js';
import { type FakeAnswer, refused } from './fake-answer.js';

const TRIM = PARAMETER_ROWS.find(({ name }) => name === 'trim_V')!;

/** Of a box that has run for a while. */
const RUNNING_TICK = 60_000;

/** A control module in lockstep. */
export interface FakeModule {
  tick(input: Uint8Array): Uint8Array;
  /** @param id of a parameter; -1: load_defaults, -2: power_up */
  setParameter(id: number, value: number): number;
}

/** A module whose outputs depend on all that it was given, in order: a sum. */
export function summingModule(): FakeModule {
  let sum = 0;
  return {
    tick(input) {
      for (const byte of input) sum = (Math.imul(sum, 31) + byte) >>> 0;
      const output = new Uint8Array(OUTPUT_BYTES);
      new DataView(output.buffer).setUint32(0, sum, true);
      return output;
    },
    setParameter(id) {
      if (id < 0) sum = 0;
      return 0;
    },
  };
}

/** What a box keeps and does between its frames; everything may be set by a test. */
export class FakeApp {
  /** Milliseconds since its start. */
  tick = RUNNING_TICK;
  key_on = false;
  at_rest = true;
  arc_voltage = false;
  parameters = new Map<number, number>(PARAMETER_ROWS.map((row) => [row.id, Math.fround(row.default)]));
  kept_generation = 0;
  events: Values[] = [];
  moments: Values[] = [];
  readings: Values = {};
  in_lockstep = false;
  /** Code of FAULT_ROWS. */
  fault = 0;
  in_desk = false;
  /** As the chip names itself. */
  chip_id = 0x20002927;
  /** The least standoff bounds the trim here. */
  deepest_trim_V = -3;
  /** Ids of two parameters that contradict each other, once something is put aside. */
  contradicts: readonly [number, number] | undefined;
  private readonly staged = new Map<number, number>();
  private ticks_done = 0;
  private kept: Uint8Array[] = [];

  constructor(private readonly module: FakeModule = summingModule()) {}

  /** Why the box would not let itself be changed now. */
  get refusal(): string | undefined {
    if (this.key_on) return 'key';
    if (this.in_desk) return this.in_lockstep ? 'lockstep' : undefined;
    if (!this.at_rest || this.fault !== 0) return 'busy';
    if (this.arc_voltage) return 'voltage';
    return this.in_lockstep ? 'lockstep' : undefined;
  }

  /** @returns undefined for a service that is not the application's */
  answer(service: string, payload: Uint8Array): FakeAnswer | undefined {
    const read = (layout: string) => decodeLayout(layout, payload)!;
    switch (service) {
      case 'parameters-read': {
        const { first, count } = read('span').values as { first: number; count: number };
        const ids = PARAMETER_ROWS.map(({ id }) => id).slice(first, first + Math.min(count, room('values', 'value')));
        return { records: ids.map((id) => ({ id, value: this.parameters.get(id)! })) };
      }
      case 'parameters-stage':
        if (read('values').records.length === 0) this.staged.clear();
        for (const { id, value } of read('values').records) {
          const row = PARAMETER_ROWS.find((candidate) => candidate.id === id);
          if (row === undefined) return this.stagedAnswer('id', id as number);
          const fits = (value as number) >= row.min && (value as number) <= row.max;
          if (!fits) return this.stagedAnswer('range', id as number);
          this.staged.set(id as number, value as number);
        }
        return this.stagedAnswer();
      case 'parameters-check':
        if (this.contradicts !== undefined) return this.stagedAnswer('contradiction', ...this.contradicts);
        return this.stagedAnswer(this.staged.size === 0 ? 'nothing-staged' : undefined);
      case 'parameters-commit': {
        if (this.refusal !== undefined) return this.stagedAnswer(this.refusal);
        // Asked again after a lost answer, there is nothing left to do and nothing to complain of.
        if (this.staged.size > 0) this.kept_generation++;
        for (const [id, value] of this.staged) this.parameters.set(id, value);
        this.staged.clear();
        return this.stagedAnswer();
      }
      case 'trim': {
        if (this.in_lockstep) return refused('lockstep');
        const { trim_V } = read('trim').values as { trim_V: number };
        if (!(trim_V >= TRIM.min && trim_V <= TRIM.max)) return refused('range');
        const in_force_V = Math.max(this.deepest_trim_V, trim_V);
        this.parameters.set(TRIM.id, in_force_V);
        return { values: { trim_V: in_force_V } };
      }
      case 'state':
        return { values: this.state };
      case 'desk-begin':
        if (this.key_on) return refused('key');
        if (!this.at_rest) return refused('busy');
        this.in_desk = true;
        return {};
      case 'events-read':
        return this.ring(read('span').values, this.events, room('events', 'event'));
      case 'history-read':
        return this.ring(read('span').values, this.moments, room('history', 'moment'));
      case 'readings':
        return { values: this.readings };
      case 'lockstep-begin':
        if (this.refusal !== undefined && this.refusal !== 'lockstep') return refused(this.refusal);
        this.in_lockstep = true;
        this.ticks_done = 0;
        this.kept = [];
        this.module.setParameter(-2, 0);
        return {};
      case 'lockstep-ticks':
        return this.in_lockstep ? this.lockstepTicks(payload) : refused('not-begun');
      case 'lockstep-parameter': {
        if (!this.in_lockstep) return refused('not-begun');
        const { id, value } = read('one_value').values as { id: number; value: number };
        return { values: { answer: this.module.setParameter(id, value) } };
      }
      case 'lockstep-end':
        this.in_lockstep = false;
        return {};
      default:
        return undefined;
    }
  }

  private get state(): Values {
    const { fault, at_rest, arc_voltage, key_on, in_desk } = this;
    const mode = fault !== 0 ? MODE_FAULT : at_rest ? MODE_REST : MODE_FOLLOW;
    return {
      tick: this.tick,
      digital_inputs: key_on ? INPUT_KEY : 0,
      flags: arc_voltage ? 0 : FLAG_NEAR_ZERO,
      measured_V: arc_voltage ? 63 : 0,
      ...{ mode, fault, desk: in_desk ? 1 : 0 },
    };
  }

  private stagedAnswer(why?: string, id = 0xffff, other = 0xffff): FakeAnswer {
    const values = { count: this.staged.size, id, generation: this.kept_generation, other };
    return why === undefined ? { values } : { ...refused(why), values };
  }

  private ring({ first, count }: Values, records: readonly Values[], most: number): FakeAnswer {
    const begin = Math.min(first as number, records.length);
    return {
      values: { first: begin, next: records.length },
      records: records.slice(begin, begin + Math.min(count as number, most)),
    };
  }

  private lockstepTicks(payload: Uint8Array): FakeAnswer {
    const first = decodeLayout('tick_inputs', payload)!.values.first as number;
    const inputs = payload.subarray(layoutBytes('tick_inputs'));
    const count = inputs.length / INPUT_BYTES;
    const oldest = this.ticks_done - this.kept.length;
    if (first > this.ticks_done || first < oldest) return refused('place');
    for (let k = this.ticks_done - first; k < count; k++) {
      this.kept.push(this.module.tick(inputs.subarray(k * INPUT_BYTES, (k + 1) * INPUT_BYTES)));
      this.ticks_done++;
    }
    const begin = first - (this.ticks_done - this.kept.length);
    const records = Buffer.concat(this.kept.slice(begin, begin + count));
    this.kept = this.kept.slice(-LOCKSTEP_KEPT);
    return { records };
  }
}

const room = (head: string, record: string) => Math.floor((PAYLOAD_MOST - layoutBytes(head)) / layoutBytes(record));
