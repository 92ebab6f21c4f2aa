import { FAULT_ROWS, HOLD_ROWS, MODE_ROWS, REFUSAL_ROWS, STAGE_ROWS } from '../../firmware/wire/code-rows.js';
import type { Exploration } from './explorer.js';
import { fieldOf } from './key.js';

/** A mode, stage, hold, fault or refusal, and the least ticks in which it is reached; null: never. */
export interface Reached {
  readonly kind: 'mode' | 'stage' | 'hold' | 'fault' | 'refusal';
  readonly name: string;
  readonly ticks: number | null;
}

/** Why these two are never reached here. */
export const NOT_REACHED: Readonly<Record<string, string>> = {
  'fault not-finite': 'no finite state and input gives a number that is not finite; a test puts one into the state',
  'refusal parameters': 'the parameters explored agree with each other; a test sets some that do not',
};

/** How soon everything that has a name is reached. */
export function reached(exploration: Exploration): Reached[] {
  const { table } = exploration;
  const depth = new Int32Array(table.size);
  const least = new Map<string, number>();
  const note = (kind: string, code: number, ticks: number) => {
    const word = `${kind} ${code}`;
    if (!least.has(word)) least.set(word, ticks);
  };
  // Entries stand in the order of their depth.
  for (let entry = 0; entry < table.size; entry++) {
    const { parent } = table.originOf(entry);
    if (parent >= 0) depth[entry] = depth[parent] + 1;
    const key = table.keyAt(entry);
    for (const kind of ['mode', 'stage', 'hold', 'fault'] as const) note(kind, fieldOf(key, kind), depth[entry]);
  }
  const rows = { mode: MODE_ROWS, stage: STAGE_ROWS, hold: HOLD_ROWS, fault: FAULT_ROWS } as const;
  const found = (Object.keys(rows) as (keyof typeof rows)[]).flatMap((kind) =>
    rows[kind].map(({ code, name }): Reached => ({ kind, name, ticks: least.get(`${kind} ${code}`) ?? null })),
  );
  const refusals = REFUSAL_ROWS.map(
    ({ code, name }): Reached => ({ kind: 'refusal', name, ticks: exploration.refusals.has(code) ? 1 : null }),
  );
  return [...found, ...refusals];
}
