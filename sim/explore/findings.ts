// What all kinds of box together came to; apart from worker.ts, which explores one of them.
import { NOT_REACHED } from './explorer.js';
import type { Broken, ExploreResult } from './worker.js';

/** What no kind of box came to, as kind and name, such as `refusal parameters`. */
export function neverReached(results: readonly ExploreResult[]): string[] {
  const all = results.flatMap(({ reached }) =>
    reached.map(({ kind, name, ticks }) => ({ word: `${kind} ${name}`, ticks })),
  );
  const reached = new Set(all.filter(({ ticks }) => ticks !== null).map(({ word }) => word));
  return [...new Set(all.map(({ word }) => word))].filter((word) => !reached.has(word));
}

/** An invariant was broken, something got past the guard, or something that the box must be able to do never came about. */
export const anythingFound = (results: readonly ExploreResult[]): boolean =>
  results.some(({ violations, guard }) => violations.length > 0 || guard.broken.length > 0) ||
  neverReached(results).some((word) => NOT_REACHED[word] === undefined);

/** An invariant that was broken in some kinds of box. */
export interface BrokenInvariant {
  /** From a kind of box in which its counterexample was confirmed, if there is one. */
  readonly broken: Broken;
  readonly kinds: readonly ExploreResult[];
}

/** Each broken invariant once. */
export function brokenInvariants(results: readonly ExploreResult[]): BrokenInvariant[] {
  const found = new Map<string, { broken: Broken; kinds: ExploreResult[] }>();
  for (const result of results) {
    for (const broken of result.violations) {
      const known = found.get(broken.invariant);
      if (known === undefined) found.set(broken.invariant, { broken, kinds: [result] });
      else {
        known.kinds.push(result);
        if (known.broken.replay.broken === null && broken.replay.broken !== null) known.broken = broken;
      }
    }
  }
  return [...found.values()];
}

/** The changes of mode that some kind of box came to: for each mode a bit for every next one. */
export const nextModes = (results: readonly ExploreResult[]): number[] =>
  results[0].next_modes.map((_, mode) => results.reduce((sum, result) => sum | result.next_modes[mode], 0));
