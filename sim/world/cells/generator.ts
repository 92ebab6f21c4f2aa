// The rows of the cells as source of the world module; apart from the host's view, which needs no generated file.
import { createHash } from 'node:crypto';
import { PLACES } from './places.js';
import { STEP_ROWS } from './table-rows.js';

const className = (part: string): string => part[0].toUpperCase() + part.slice(1);

/** A number that changes with every name, type or place: a module of another build has another one. */
export function layoutNumber(): number {
  return createHash('sha256').update(cellsSource(0)).digest().readInt32LE();
}

/** `module/cells.gen.ts`, without its head. */
export function cellsSource(layout: number = layoutNumber()): string {
  const { parts, arrays, end } = PLACES;
  return [
    '/** What host and module must agree on; another number is another build. */',
    `export const LAYOUT: i32 = ${layout};`,
    `export const CELLS_END: usize = ${end};`,
    '',
    ...parts.flatMap(({ part, meaning, cells, placed, at }) => [
      `/** ${className(meaning)}. */`,
      '@unmanaged',
      `export class ${className(part)} {`,
      ...placed.map(({ name, type }) => {
        const row = cells.find((cell) => cell.name === name)!;
        return `  /** ${row.meaning}${row.unit === '' ? '' : `; ${row.unit}`} */\n  ${name}: ${type};`;
      }),
      '}',
      `export const ${part}: ${className(part)} = changetype<${className(part)}>(<usize>${at});`,
      '',
    ]),
    ...arrays.flatMap(({ name, meaning, count, type, at }) => [
      `/** ${meaning}; ${count} of ${type} */`,
      `export const ${name.toUpperCase()}: usize = ${at};`,
    ]),
    '',
    '/** A step of the plan. */',
    '@unmanaged',
    'export class Step {',
    ...STEP_ROWS.reals.map((name) => `  ${name}: f64;`),
    ...STEP_ROWS.integers.map((name) => `  ${name}: i32;`),
    '}',
    `export const STEP_BYTES: i32 = ${STEP_ROWS.reals.length * 8 + STEP_ROWS.integers.length * 4};`,
    '',
  ].join('\n');
}
