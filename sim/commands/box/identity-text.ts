import { FAULT_ROWS } from '../../../firmware/wire/code-rows.js';
import { BOOT_ROWS } from '../../../firmware/wire/link-rows.js';
import type { Identity } from '../../link/index.js';
import { clockText, fixed } from '../../views/text/index.js';

const NO_SLOT = 255;
const FIRST_OWN_FAULT = BOOT_ROWS.findIndex(({ name }) => name === 'trap');
const LOADER_REASONS = ['no-image', 'image-fails'];

/** The first digits, enough to compare by eye. */
export const shortHash = (sha256: string): string => sha256.slice(0, 12);

/** `3f2a90c1d4e5, the one on the desk`. */
export function moduleWords(sha256: string, desk_sha256: string): string {
  if (/^0*$/.test(sha256)) return 'none';
  const same = sha256 === desk_sha256;
  const other = `NOT the one on the desk, which is ${shortHash(desk_sha256)}`;
  return `${shortHash(sha256)}, ${same ? 'the one on the desk' : other}`;
}

const bootRow = ({ boot }: Identity) => BOOT_ROWS.find(({ name }) => name === boot);

/** Whether the box started because something went wrong in it. */
export const startedByFault = (identity: Identity): boolean => {
  const row = bootRow(identity);
  return row !== undefined && row.code >= FIRST_OWN_FAULT && !LOADER_REASONS.includes(row.name);
};

/** Why it started, in words. */
export const startWords = (identity: Identity): string => bootRow(identity)?.meaning ?? identity.boot;

/** One line for a list of ports: who answers, and with which module. */
export function identityLine(identity: Identity, desk_sha256: string): string {
  const { in_loader, slot, version, module_sha256 } = identity;
  const module = `module ${moduleWords(module_sha256, desk_sha256)}`;
  if (!in_loader) return `box ${version}, ${module}`;
  return slot === NO_SLOT ? `loader ${version}, no valid image` : `loader ${version}; ${module}`;
}

/** What a box says of itself, as names and values. */
export function identityEntries(identity: Identity, desk_sha256: string): (readonly [string, string])[] {
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
  if (in_loader) return entries;
  const kept = parameter_generation === 0 ? 'the defaults, none kept' : `kept, generation ${parameter_generation}`;
  const worst_percent = (100 * identity.worst_tick_cycles) / identity.cycles_per_ms;
  const worst = `${fixed(worst_percent, 1)} % of a millisecond`;
  return [...entries, ['parameters', kept], ['longest tick', worst]];
}

/** Names and values below each other. */
export function entryLines(entries: readonly (readonly [string, string])[]): string[] {
  const width = Math.max(...entries.map(([name]) => name.length));
  return entries.map(([name, value]) => `${name.padEnd(width)}  ${value}`);
}
