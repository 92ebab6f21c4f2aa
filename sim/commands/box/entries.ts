// Its own file beside box: what a box says about itself.
import { FAULT_ROWS } from '../../../firmware/wire/code-rows.js';
import {
  type Identity,
  moduleWords,
  NO_SLOT,
  originWords,
  type Slot,
  slotWords,
  startWords,
} from '../../link/index.js';
import { clockText, fixed } from '../../views/text/index.js';

/** What a box says about itself, as names and values. */
export function identityEntries(
  identity: Identity,
  desk_sha256: string,
  slots: readonly Slot[] | undefined,
): (readonly [string, string])[] {
  const { in_loader, slot, generation, version, module_sha256, tick, parameter_generation } = identity;
  const place = slot === NO_SLOT ? 'nothing: no slot holds a valid image' : `slot ${slot}, generation ${generation}`;
  const entries: (readonly [string, string])[] = [
    ['answers', `the ${in_loader ? 'loader' : 'box'}, version ${version}`],
    [in_loader ? 'would run' : 'runs', place],
    ['module', moduleWords(module_sha256, desk_sha256)],
    ['started', `${clockText(tick / 1000)} ago: ${startWords(identity)}`],
  ];
  if (identity.fault_before !== 0) {
    const row = FAULT_ROWS[identity.fault_before];
    entries.push(['fault before', row ? `${row.name}: ${row.meaning}` : `${identity.fault_before}`]);
  }
  for (const each of slots ?? []) entries.push([`slot ${each.slot}`, slotWords(each)]);
  if (in_loader) return entries;
  const running = slots?.find(({ runs }) => runs);
  const kept = parametersWords(parameter_generation, running?.origin);
  const worst_percent = (100 * identity.worst_tick_cycles) / identity.cycles_per_ms;
  const worst = `${fixed(worst_percent, 1)} % of a millisecond`;
  return [...entries, ['parameters', kept], ['longest tick', worst]];
}

/** Which parameters are in use. @param origin of the running slot, if it is known */
function parametersWords(generation: number, origin: string | undefined): string {
  if (origin === 'withheld') return originWords(origin);
  if (generation === 0) return 'the defaults, none kept';
  return `kept, generation ${generation}${origin === 'older' ? `, ${originWords(origin)}` : ''}`;
}

/** Names and values, one pair per line. */
export function entryLines(entries: readonly (readonly [string, string])[]): string[] {
  const width = Math.max(...entries.map(([name]) => name.length));
  return entries.map(([name, value]) => `${name.padEnd(width)}  ${value}`);
}
