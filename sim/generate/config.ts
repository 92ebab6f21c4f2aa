import { HEADER } from '../../firmware/wire/generator.js';
import { MACHINE_ROWS, type Row, WORLD_ROWS } from '../world/plant/index.js';

function docText(row: Row): string {
  const unit = row.unit === '' ? '' : ` ${row.unit}`;
  const range =
    row.kind === 'boolean'
      ? `default ${row.default}`
      : row.kind === 'choice'
        ? `${row.choices!.join(' or ')}, default ${row.default}`
        : `${row.min}…${row.max}${unit}, default ${row.default}`;
  const kind = row.integer ? '; whole' : '';
  return `${row.meaning}; ${range}${kind}${row.assumption ? '; assumption' : ''}`;
}

/** The groups of a section, each an object of its quantities. */
function groups(rows: readonly Row[]): string[] {
  const parts = new Map<string, string[]>();
  for (const row of rows) {
    const [part, field] = row.path.split('.') as [string, string];
    const type = row.kind === 'boolean' ? 'boolean' : row.kind === 'choice' ? row.choices!.join(' | ') : 'number';
    const lines = parts.get(part) ?? [];
    lines.push(`    /** ${docText(row)} */`, `    readonly ${field}: ${type};`);
    parts.set(part, lines);
  }
  return [...parts].flatMap(([part, lines]) => [`  readonly ${part}: {`, ...lines, '  };']);
}

/** `plant/config.gen.ts`: machine and world as types, with the docstrings of their rows. */
export const configSource = (): string =>
  [
    HEADER,
    "import type { Fault } from './faults.js';",
    '',
    '/** What can be measured on the machine with a rule and a meter, or read from its plates. */',
    'export interface MachineConfig {',
    ...groups(MACHINE_ROWS),
    '}',
    '',
    '/** What is only assumed for simulation. */',
    'export interface WorldConfig {',
    ...groups(WORLD_ROWS),
    '  /** What breaks, and when; empty for a sound machine. */',
    '  readonly faults: readonly Fault[];',
    '}',
    '',
  ].join('\n');
