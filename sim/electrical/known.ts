/** How a value from outside is known; printed wherever the value is. */
export type Knowledge = 'seen' | 'second hand' | 'memory' | 'computed' | 'common practice';

/** Where a value comes from and how it is known. */
export interface Source {
  readonly knowledge: Knowledge;
  readonly source: string;
}

export const known = (knowledge: Knowledge, source: string): Source => ({ knowledge, source });

/** `IEC 60063 (second hand)`; common practice has no source to name. */
export const sourceText = ({ knowledge, source }: Source): string =>
  source === '' ? `${knowledge}, no source` : `${source} (${knowledge})`;
