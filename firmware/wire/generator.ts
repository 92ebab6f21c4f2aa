import { headerSource } from './c-generator.js';
import { type CodeRow, FAULT_ROWS, HOLD_ROWS, MODE_ROWS, REFUSAL_ROWS, STAGE_ROWS } from './code-rows.js';
import { type Constant, layoutConstants } from './layout-constants.js';
import { linkPage } from './link-page.js';
import { PARAMETER_ROWS } from './parameter-rows.js';
import { CAPACITY_ROW, RELATION_ROWS } from './relation-rows.js';

export const HEADER = '// Generated from the rows by `npm run generate`. Do not edit.\n';
const constant = (prefix: string, name: string) => `${prefix}_${name.toUpperCase().replaceAll('-', '_')}`;

const block = (prefix: string, rows: readonly CodeRow[]) =>
  rows.map((row) => `export const ${constant(prefix, row.name)} = ${row.code};`).join('\n');

/** `codes.gen.ts`: numbers that the module (asc) and the host (tsc) share. */
export function codesSource(): string {
  return [
    HEADER,
    block('MODE', MODE_ROWS),
    '',
    block('STAGE', STAGE_ROWS),
    '',
    block('HOLD', HOLD_ROWS),
    '',
    block('REFUSAL', REFUSAL_ROWS),
    '',
    block('FAULT', FAULT_ROWS),
    '',
    `export const PARAMETER_COUNT = ${PARAMETER_ROWS.length};`,
    ...PARAMETER_ROWS.map((row) => `export const ${constant('PARAMETER', row.name)} = ${row.id};`),
    '',
  ].join('\n');
}

/** `layout.gen.ts`: the module's blocks, their bits and its answers, for the module (asc) and the host (tsc). */
export const layoutSource = (): string =>
  [HEADER, constantLine(layoutNumber()), ...layoutConstants().map(constantLine), ''].join('\n');

/** Tells apart builds whose blocks or codes are not the same: FNV-1a of all of them (memory), without its sign. */
function layoutNumber(): Constant {
  const constants = layoutConstants().map(({ name, value }) => `${name} = ${value}`);
  let hash = 0x811c9dc5;
  for (const sign of `${constants.join()}${codesSource()}`) hash = Math.imul(hash ^ sign.charCodeAt(0), 0x01000193);
  return { name: 'LAYOUT', value: hash & 0x7fffffff, meaning: 'of the blocks and codes below and in codes.gen.ts' };
}

const constantLine = ({ name, value, meaning }: Constant) =>
  `export const ${name} = ${value};${meaning === '' ? '' : ` // ${meaning}`}`;

const f32 = (value: number) => (Number.isInteger(value) ? `${value}.0` : `${value}`);
const idOf = (name: string) => PARAMETER_ROWS.findIndex((row) => row.name === name);
const bits = (flags: readonly boolean[]) =>
  `0x${flags.reduce((mask, flag, index) => mask + (flag ? 2 ** index : 0), 0).toString(16)}`;

/** `control/table.gen.ts`: ranges, defaults and fault classes for the module; AssemblyScript only. */
export function tableSource(): string {
  const numbers = (pick: (row: (typeof PARAMETER_ROWS)[number]) => number) =>
    PARAMETER_ROWS.map((row) => `  ${f32(pick(row))}, // ${row.name}`).join('\n');
  return [
    HEADER,
    `export const MINIMA = memory.data<f32>([\n${numbers((row) => row.min)}\n]);`,
    `export const MAXIMA = memory.data<f32>([\n${numbers((row) => row.max)}\n]);`,
    `export const DEFAULTS = memory.data<f32>([\n${numbers((row) => row.default)}\n]);`,
    '/** One byte a row: 1 where only whole numbers are taken. */',
    `export const INTEGERS = memory.data<u8>([${PARAMETER_ROWS.map((row) => Number(row.integer)).join(', ')}]);`,
    '',
    '/** Three bytes a relation: the lower parameter, the upper one, 1 where they may not be equal either. */',
    'export const RELATIONS = memory.data<u8>([',
    ...RELATION_ROWS.map(
      ({ lower, upper, strict }) => `  ${idOf(lower)}, ${idOf(upper)}, ${Number(strict)}, // ${lower}, ${upper}`,
    ),
    ']);',
    `export const RELATION_COUNT = ${RELATION_ROWS.length};`,
    '/** The two whose product is bounded by what the board can put out. */',
    `export const CAPACITY_SPEED = ${idOf(CAPACITY_ROW.speed)};`,
    `export const CAPACITY_STEPS = ${idOf(CAPACITY_ROW.steps)};`,
    '',
    '/** One bit a fault code: Z stops where it is. */',
    `export const FAULTS_THAT_STOP_Z: u32 = ${bits(FAULT_ROWS.map((row) => row.z_stops))};`,
    '/** One bit a fault code: the latched stop is set. */',
    `export const FAULTS_THAT_LATCH: u32 = ${bits(FAULT_ROWS.map((row) => row.latches_stop))};`,
    '',
    '/** The parameter block as the module reads it, in the order of the ids. */',
    '@unmanaged',
    'export class Parameters {',
    ...PARAMETER_ROWS.map((row) => `  /** ${row.meaning} (${row.unit}) */\n  ${row.name}: f32;`),
    '}',
    '',
  ].join('\n');
}

export interface Generated {
  /** From the project's root. */
  readonly path: string;
  readonly source: () => string;
}

/** What the rows of this folder become. */
export const GENERATED_FROM_WIRE: readonly Generated[] = [
  { path: 'firmware/wire/codes.gen.ts', source: codesSource },
  { path: 'firmware/wire/layout.gen.ts', source: layoutSource },
  { path: 'firmware/control/table.gen.ts', source: tableSource },
  { path: 'firmware/wire/wire.gen.h', source: headerSource },
  { path: 'hardware-notes/link.gen.md', source: linkPage },
];
