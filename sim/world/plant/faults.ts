import { StandoffError } from '../../base/index.js';

/** One thing that can break, for the schema and the reference page. */
export interface FaultRow {
  readonly kind: string;
  readonly meaning: string;
  /** What `value` stands for; absent if the kind takes none. */
  readonly value?: { readonly unit: string; readonly min: number; readonly max: number; readonly default: number };
}

const plain = <const Kind extends string>(kind: Kind, meaning: string) => ({ kind, meaning });

/** Every kind of fault. */
export const FAULT_ROWS = [
  plain('open-lead', 'a lead between torch and divider is open: the tap falls to 0 V'),
  plain('reversed-leads', 'the two leads of the divider are exchanged'),
  plain('shorted-capacitor', 'the filter capacitor is a short: the tap reads 0 V'),
  plain('filter-capacitor-open', 'the filter capacitor is open: the readings are not filtered'),
  {
    kind: 'stuck-code',
    meaning: 'the converter repeats one code',
    value: { unit: 'counts', min: 0, max: 4095, default: 1345 },
  },
  {
    kind: 'intermittent-contact',
    meaning: 'a lead opens at times, for some milliseconds',
    value: { unit: '1/s', min: 0, max: 500, default: 5 },
  },
  plain('resistor-top-open', 'a resistor of the divider’s upper part is open: the tap falls to 0 V'),
  {
    kind: 'resistor-top-short',
    meaning: 'resistors of the divider’s upper part are shorted: the tap reads high',
    value: { unit: 'resistors', min: 1, max: 12, default: 1 },
  },
  plain('resistor-bottom-open', 'the divider’s lower resistor is open: the tap rises to the full arc voltage'),
  plain('resistor-bottom-short', 'the divider’s lower resistor is a short: the tap reads 0 V'),
  plain('dead-converter', 'the converter returns code 0'),
  plain('welded-relay', 'the firing contact stays closed once it has closed'),
  plain('latching-trigger', 'the supply goes on after the trigger is released'),
  plain('hand-on-trigger', 'someone pulls the torch’s own trigger'),
  {
    kind: 'lost-steps',
    meaning: 'the Z motor loses a share of its steps',
    value: { unit: '', min: 0, max: 1, default: 0.1 },
  },
  plain('reversed-direction', 'the direction line of Z is inverted'),
  {
    kind: 'stuck-touch-switch',
    meaning: 'the touch-off switch keeps one state',
    value: { unit: '', min: 0, max: 1, default: 1 },
  },
  plain('touch-never-closes', 'the touch-off switch never closes'),
  plain('breakaway', 'the head leaves its holder'),
  plain('arc-never-starts', 'the supply stays at its no-load voltage'),
  plain('arc-goes-out', 'the arc goes out'),
  plain('unpowered-axis', 'the Z motor has no power and sinks'),
  plain('missing-supply-contact', 'the supply’s own arc-OK contact never closes'),
  plain('dead-x-step-tap', 'the box’s tap of the X step line is dead: the table moves, the box counts nothing'),
  plain('dead-y-step-tap', 'the box’s tap of the Y step line is dead: the table moves, the box counts nothing'),
  {
    kind: 'stuck-readback',
    meaning: 'the readback of the firing contact keeps one state; 1, closed, is what a broken wire of it reads',
    value: { unit: '', min: 0, max: 1, default: 1 },
  },
  {
    kind: 'reference-off',
    meaning: 'the converter reads the board’s own reference wrong',
    value: { unit: 'counts', min: 0, max: 4095, default: 0 },
  },
  plain('late-tick', 'ticks of the box come late'),
  {
    kind: 'new-consumables',
    meaning: 'new consumables, put in as soon as no arc burns: no wear, and a voltage that differs by so much',
    value: { unit: 'V', min: -10, max: 10, default: 0 },
  },
] as const satisfies readonly FaultRow[];

/** Something that can break: the kinds of FAULT_ROWS. */
export type FaultKind = (typeof FAULT_ROWS)[number]['kind'];

/** One fault of a run. */
export interface Fault {
  readonly kind: FaultKind;
  /** Moment from the start of the run, s. */
  readonly at_s: number;
  /** How long it lasts, s; to the end of the run without it. */
  readonly for_s?: number;
  /** Strength, by kind; the kind's default without it. */
  readonly value?: number;
}

interface FaultEvent {
  readonly tick: number;
  readonly kind: FaultKind;
  readonly on: boolean;
  readonly value: number;
}

/** The list of faults as a calendar of ticks, and which of them are present now. */
export class Faults {
  /** Tick of the next change; compare with it before calling `turn`. */
  next_tick: number;
  private readonly events: readonly FaultEvent[];
  private readonly last = new Map<FaultKind, FaultEvent>();
  private position = 0;

  /** @throws StandoffError `fault-kind`, `fault-time`, `fault-value` */
  constructor(faults: readonly Fault[]) {
    this.events = calendar(faults);
    this.next_tick = this.events[0]?.tick ?? Infinity;
  }

  /** Whether a fault is present. */
  has(kind: FaultKind): boolean {
    return this.last.get(kind)?.on ?? false;
  }

  /** The strength with which it last came or went; 0 before. */
  valueOf(kind: FaultKind): number {
    return this.last.get(kind)?.value ?? 0;
  }

  /** Apply every change that is due. @param tick milliseconds from the start of the run. */
  turn(tick: number): void {
    while (this.position < this.events.length && this.events[this.position].tick <= tick) {
      const event = this.events[this.position++];
      this.last.set(event.kind, event);
    }
    this.next_tick = this.events[this.position]?.tick ?? Infinity;
  }
}

function calendar(faults: readonly Fault[]): FaultEvent[] {
  const events: FaultEvent[] = [];
  for (const [index, fault] of faults.entries()) {
    refuseFault(fault, index);
    const row: FaultRow = FAULT_ROWS.find((one) => one.kind === fault.kind)!;
    const value = fault.value ?? row.value?.default ?? 0;
    const tick = Math.round(fault.at_s * 1000);
    events.push({ tick, kind: fault.kind, on: true, value });
    if (fault.for_s !== undefined) {
      events.push({ tick: Math.round((fault.at_s + fault.for_s) * 1000), kind: fault.kind, on: false, value });
    }
  }
  return events.sort((left, right) => left.tick - right.tick);
}

/** A file is checked by its schema; this is for faults that a program gives. */
function refuseFault({ kind, at_s, for_s, value }: Fault, index: number): void {
  const place = `world.faults[${index}]`;
  const row: FaultRow | undefined = FAULT_ROWS.find((one) => one.kind === kind);
  if (row === undefined) {
    const remedy = `give one of ${FAULT_ROWS.map((one) => one.kind).join(', ')}`;
    throw new StandoffError('fault-kind', `${place}.kind is ${String(kind)}`, remedy);
  }
  const bad_s = [at_s, for_s ?? 0].find((time_s) => !(time_s >= 0 && Number.isFinite(time_s)));
  if (bad_s !== undefined) {
    throw new StandoffError(
      'fault-time',
      `${place} has a time of ${bad_s} s`,
      'give at_s and for_s as 0 or more, in s',
    );
  }
  if (value === undefined) return;
  if (row.value === undefined) {
    throw new StandoffError('fault-value', `${place}.value is ${value}`, `leave it out: ${kind} takes none`);
  }
  const { min, max, unit } = row.value;
  if (value >= min && value <= max) return;
  const what = `${place}.value is ${value}`;
  throw new StandoffError('fault-value', what, `give ${kind} a value of ${min} to ${max} ${unit}`.trimEnd());
}
