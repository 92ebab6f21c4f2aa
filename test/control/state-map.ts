import { readFileSync } from 'node:fs';

/** A field of the module's state: where it stands in the region, and how its four bytes are read. */
export interface StateField {
  readonly offset: number;
  readonly real: boolean;
}

/** The blocks, in the order of `state.ts`; behind the filter come the proof, rings and history, and of the bank the first lag stands for all. */
const BLOCKS = [
  { name: 'Sequence', at: 0 },
  { name: 'Regulator', at: 256 },
  { name: 'Filter', at: 512 },
  { name: 'Ruler', at: 1536 },
  { name: 'Lag', at: 1920 },
];

/**
 * Reads the fields of the state blocks from the module's own source, so that a test can look at a timer by
 * its name. Every field takes four bytes; the blocks start where `state.ts` puts them.
 */
export function readStateMap(source: string): ReadonlyMap<string, StateField> {
  const map = new Map<string, StateField>();
  for (const { name, at } of BLOCKS) {
    const body = new RegExp(`class ${name} \\{(.*?)\\n\\}`, 's').exec(source)?.[1] ?? '';
    let offset = at;
    for (const [, field, type] of body.matchAll(/^ {2}(\w+): ([if]32);/gm)) {
      const plain = name === 'Ruler' || name === 'Lag' ? `${name}.${field}` : field;
      map.set(plain, { offset, real: type === 'f32' });
      offset += 4;
    }
  }
  return map;
}

/** From the project's folder, where all tests run: bundled, this file stands elsewhere. */
export const STATE_MAP = readStateMap(
  ['state.ts', 'ruler/found.ts'].map((file) => readFileSync(`firmware/control/${file}`, 'utf8')).join('\n'),
);
