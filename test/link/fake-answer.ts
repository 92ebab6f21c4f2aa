import { STATUS_ROWS } from '../../firmware/wire/link-rows.js';
import type { Records, Values } from '../../sim/link/index.js';

/** What a fake box answers; without values: an empty payload when it refuses, all 0 when it does not. */
export interface FakeAnswer {
  readonly status?: number;
  readonly values?: Values;
  readonly records?: Records;
}

export const refused = (name: string): { readonly status: number } => ({
  status: STATUS_ROWS.find((row) => row.name === name)!.code,
});
