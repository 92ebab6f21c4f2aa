import { FAULT_ROWS } from '../../firmware/wire/code-rows.js';
import { BOOT_ROWS } from '../../firmware/wire/link-rows.js';
import type { Values } from '../link/index.js';
import { clockText, fixed } from '../report/text.js';
import { bootText } from './event-text.js';

/** What a box says of itself, as the link decodes it. */
export interface Identity {
  readonly in_loader: boolean;
  readonly board: number;
  readonly protocol: number;
  readonly boot: number;
  /** Slot that runs or would be started; undefined: none. */
  readonly slot: number | undefined;
  readonly generation: number;
  readonly parameter_generation: number;
  readonly parameter_count: number;
  /** Fault when the box last stopped by itself; 0: none. */
  readonly fault_before: number;
  readonly up_ms: number;
  /** Longest tick, share of a millisecond. */
  readonly worst_tick: number;
  readonly version: string;
  /** Lower-case hex. */
  readonly module_sha256: string;
  readonly image_sha256: string;
}

const NO_SLOT = 255;
const FIRST_OWN_FAULT = BOOT_ROWS.findIndex(({ name }) => name === 'trap');

/** Reads the layout `identity`. */
export function identityOf(values: Values): Identity {
  const number = (name: string) => values[name] as number;
  const hex = (name: string) => Buffer.from(values[name] as Uint8Array).toString('hex');
  const cycles = number('cycles_per_ms');
  return {
    in_loader: number('in_loader') !== 0,
    board: number('board'),
    protocol: number('protocol'),
    boot: number('boot'),
    slot: number('slot') === NO_SLOT ? undefined : number('slot'),
    generation: number('generation'),
    parameter_generation: number('parameter_generation'),
    parameter_count: number('parameter_count'),
    fault_before: number('fault_before'),
    up_ms: number('tick'),
    worst_tick: cycles > 0 ? number('worst_tick_cycles') / cycles : Number.NaN,
    version: values.version as string,
    module_sha256: hex('module_sha256'),
    image_sha256: hex('image_sha256'),
  };
}

/** The first digits, enough to compare by eye. */
export const shortHash = (sha256: string): string => sha256.slice(0, 12);

/** `3f2a90c1d4e5, the one on the desk`. */
export function moduleWords(sha256: string, desk_sha256: string): string {
  if (/^0*$/.test(sha256)) return 'none';
  const same = sha256 === desk_sha256;
  const other = `NOT the one on the desk, which is ${shortHash(desk_sha256)}`;
  return `${shortHash(sha256)}, ${same ? 'the one on the desk' : other}`;
}

/** Whether the box started because of something that went wrong in it. */
export const startedByFault = ({ boot }: Identity): boolean => boot >= FIRST_OWN_FAULT;

/** One line for a list of ports: who answers, and with which module. */
export function identityLine(identity: Identity, desk_sha256: string): string {
  const { in_loader, slot, version, module_sha256 } = identity;
  const module = `module ${moduleWords(module_sha256, desk_sha256)}`;
  if (!in_loader) return `box, version ${version}, ${module}`;
  return slot === undefined ? `loader, version ${version}, no valid image` : `loader, version ${version}; ${module}`;
}

/** What a box says of itself, as names and values. */
export function identityEntries(identity: Identity, desk_sha256: string): (readonly [string, string])[] {
  const { in_loader, slot, generation, version, module_sha256, boot, up_ms, parameter_generation } = identity;
  const place = slot === undefined ? 'no slot holds a valid image' : `slot ${slot}, generation ${generation}`;
  const up = `${clockText(up_ms / 1000)} ago`;
  const entries: (readonly [string, string])[] = [
    ['answers', in_loader ? `the loader, version ${version}` : `the box, version ${version}`],
    [in_loader ? 'would run' : 'runs', place],
    ['module', moduleWords(module_sha256, desk_sha256)],
    ['started', `${up}: ${bootText(boot)}`],
  ];
  if (identity.fault_before !== 0) {
    const row = FAULT_ROWS[identity.fault_before];
    entries.push(['fault before', row ? `${row.name}: ${row.meaning}` : `${identity.fault_before}`]);
  }
  if (in_loader) return entries;
  const kept = parameter_generation === 0 ? 'the defaults, nothing kept' : `kept, generation ${parameter_generation}`;
  const worst = `${fixed(100 * identity.worst_tick, 1)} % of a millisecond since the start`;
  return [...entries, ['parameters', kept], ['longest tick', worst]];
}
