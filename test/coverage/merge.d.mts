/** A place in the module that is counted. */
export interface Probe {
  readonly file: string;
  readonly line: number;
  readonly kind: 'statement' | 'branch';
  readonly what: string;
}
export interface Summary {
  readonly files: ReadonlyMap<string, { readonly statement: readonly number[]; readonly branch: readonly number[] }>;
  readonly unreached: readonly Probe[];
}
export function merge(lists: readonly (readonly number[])[], length: number): number[];
export function summarise(probes: readonly Probe[], hits: readonly number[]): Summary;
export function reportText(summary: Summary): string;
