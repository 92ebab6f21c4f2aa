import type { OperatorEvent } from '../run/loop/index.js';
import type { Fault } from '../world/plant/index.js';
import type { Case, CaseSpace } from './case.js';
import type { Ranges } from './ranges.js';
import { relationsKept, relationsOf } from './relations.js';

/** A simplified case, and what matters in it. */
export interface Shrunk {
  readonly case: Case;
  /** Cuts that this took. */
  readonly tries: number;
  /** What is left: take any of these away and the requirement is kept. */
  readonly ingredients: readonly string[];
}

/** Most cuts to spend on one counterexample. */
const TRIES_MOST = 400;

/** Distance of the moments at which a cause is tried alone, s: less than the shortest mode of a cut. */
const ALONE_EVERY_S = 0.5;

/**
 * The simplest case near this one that still breaks the same requirement. What is not needed goes back to the setup's
 * value or is removed; what is needed gets as near to that value and as round as possible.
 * @param breaks whether a case still breaks the requirement; it must be true of `start`
 */
export function shrink(start: Case, space: CaseSpace, breaks: (one: Case) => boolean): Shrunk {
  const { setup, ranges, duration_s } = space;
  let best = start;
  let tries = 0;
  const attempt = (candidate: Case): boolean => {
    if (tries >= TRIES_MOST || !relationsKept(setup, ranges, candidate.values)) return false;
    tries++;
    if (!breaks(candidate)) return false;
    best = candidate;
    return true;
  };
  const related = relationsOf(ranges);
  const nominal = (path: string) => ranges.numbers.find((range) => range.path === path)!.nominal;
  attempt({ ...best, values: {} });
  let before: Case;
  do {
    before = best;
    for (const list of ['faults', 'operator'] as const)
      dropEach(best[list].length, (at) => attempt(without(best, list, at)));
    for (const path of Object.keys(best.values)) attempt({ ...best, values: lacking(best.values, path) });
    const there = related.filter((paths) => paths.some((path) => best.values[path] !== undefined));
    for (const paths of there) attempt({ ...best, values: paths.reduce<Case['values']>(lacking, best.values) });
    for (const path of Object.keys(best.values)) {
      const { decimals } = ranges.numbers.find((range) => range.path === path)!;
      approach(best.values[path], nominal(path), decimals, (value) =>
        attempt({ ...best, values: { ...best.values, [path]: value } }),
      );
    }
    for (let at = 0; at < best.faults.length; at++) simplifyFault(best, at, attempt);
    for (let at = 0; at < best.operator.length; at++) roundEvent(best, at, attempt);
    if (best === before) oneAlone(best, duration_s, attempt);
  } while (best !== before && tries < TRIES_MOST);
  return { case: best, tries, ingredients: ingredientsOf(best, ranges) };
}

/** From the last to the first, so that an index stays valid while those behind it go. */
function dropEach(count: number, drop: (at: number) => void): void {
  for (let at = count - 1; at >= 0; at--) drop(at);
}

const without = (one: Case, list: 'faults' | 'operator', at: number): Case => ({
  ...one,
  [list]: (one[list] as readonly (Fault | OperatorEvent)[]).filter((_, index) => index !== at),
});

function lacking(values: Readonly<Record<string, number>>, path: string): Record<string, number> {
  return Object.fromEntries(Object.entries(values).filter(([name]) => name !== path));
}

/**
 * What several causes do together, one may do alone at another moment: a stop chain that opens while the request goes
 * off and on may just as well open a second earlier.
 */
function oneAlone({ faults, operator, ...rest }: Case, duration_s: number, attempt: (one: Case) => boolean): void {
  if (faults.length + operator.length < 2) return;
  const alone: ((at_s: number) => Case)[] = [
    ...operator.map((event) => (at_s: number) => ({ ...rest, faults: [], operator: [{ ...event, at_s }] })),
    ...faults.map((fault) => (at_s: number) => ({ ...rest, faults: [{ ...fault, at_s }], operator: [] })),
  ];
  for (const place of alone) {
    for (let at_s = ALONE_EVERY_S; at_s < duration_s; at_s += ALONE_EVERY_S) if (attempt(place(at_s))) return;
  }
}

/** Halves the distance to the nominal value as long as the case still breaks the requirement. */
function approach(value: number, nominal: number, decimals: number, attempt: (value: number) => boolean): void {
  let from = nominal;
  let at = value;
  for (let step = 0; step < 6; step++) {
    const middle = Number(((from + at) / 2).toFixed(decimals));
    if (middle === at || middle === from) return;
    if (attempt(middle)) at = middle;
    else from = middle;
  }
}

function simplifyFault(one: Case, at: number, attempt: (candidate: Case) => boolean): void {
  const put = (fault: Fault) =>
    attempt({ ...one, faults: one.faults.map((other, index) => (index === at ? fault : other)) });
  const { kind, at_s, for_s, value } = one.faults[at];
  const keep = { ...(for_s !== undefined && { for_s }), ...(value !== undefined && { value }) };
  for (const rounded of [Math.round(at_s), Math.round(at_s * 10) / 10]) {
    if (rounded !== at_s && put({ kind, at_s: rounded, ...keep })) return;
  }
  if (value !== undefined && put({ kind, at_s, ...(for_s !== undefined && { for_s }) })) return;
  if (for_s !== undefined) put({ kind, at_s, ...(value !== undefined && { value }) });
}

function roundEvent(one: Case, at: number, attempt: (candidate: Case) => boolean): void {
  const event = one.operator[at];
  for (const rounded of [Math.round(event.at_s), Math.round(event.at_s * 10) / 10]) {
    if (rounded === event.at_s) return;
    const operator = one.operator.map((other, index) => (index === at ? { ...event, at_s: rounded } : other));
    if (attempt({ ...one, operator })) return;
  }
}

/** In words, for whoever has to find out why. */
export function ingredientsOf(one: Case, ranges: Ranges): string[] {
  const numbers = Object.entries(one.values).map(([path, value]) => {
    const { nominal, unit } = ranges.numbers.find((range) => range.path === path)!;
    return `${path} ${value} ${unit} (the setup has ${nominal})`.replace(/ {2,}/g, ' ');
  });
  const faults = one.faults.map(
    ({ kind, at_s, for_s }) => `${kind} at ${at_s} s${for_s === undefined ? ', for good' : `, for ${for_s} s`}`,
  );
  const operator = one.operator.map(
    ({ line, at_s, on }) => `the operator turns ${line} ${on ? 'on' : 'off'} at ${at_s} s`,
  );
  return [...numbers, ...faults, ...operator];
}
