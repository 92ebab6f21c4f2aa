import type { Row } from '../../../sim/world/plant/rows.js';

/** The text of a configuration interface as its rows give it; rows.test.ts compares it with the source file. */
export function interfaceText(name: string, about: string, rows: readonly Row[], extra = ''): string {
  const parts = new Map<string, string[]>();
  for (const row of rows) {
    const [part, field] = row.path.split('.') as [string, string];
    const lines = parts.get(part) ?? [];
    const type = row.kind === 'boolean' ? 'boolean' : row.kind === 'choice' ? row.choices!.join(' | ') : 'number';
    lines.push(`    /** ${docText(row)} */`, `    readonly ${field}: ${type};`);
    parts.set(part, lines);
  }
  const body = [...parts].map(([part, lines]) => `  readonly ${part}: {\n${lines.join('\n')}\n  };`).join('\n');
  return `${about}export interface ${name} {\n${body}\n${extra}}\n`;
}

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

export const MACHINE_ABOUT = `/**
 * What can be measured on the machine with a rule and a meter. The fields mirror MACHINE_ROWS; a test
 * compares this file with the rows (run it with \`-u\` after a change of the rows).
 */
`;

export const WORLD_ABOUT = `import type { Fault } from './faults.js';

/**
 * What is only assumed for simulation. The fields mirror WORLD_ROWS; a test compares this file with the
 * rows (run it with \`-u\` after a change of the rows).
 */
`;

export const WORLD_EXTRA = `  /** What breaks, and when; empty for a sound machine. */
  readonly faults: readonly Fault[];
`;
