import { HEADER } from '../../firmware/wire/generator.js';

/** Classes of the state that a host knows field by field, each field four bytes, and the prefix of their constants. */
const CLASSES = [
  ['Sequence', 'SEQUENCE', 'i32'],
  ['Regulator', 'REGULATOR', 'f32'],
] as const;
const REGIONS = ['SEQUENCE', 'REGULATOR', 'FILTER', 'RING'];

/** Names of the fields of a class. @throws Error for a field of another type */
function fieldsOf(source: string, name: string, type: string): string[] {
  const body = new RegExp(`export class ${name} {\\n([\\s\\S]*?)\\n}`).exec(source)?.[1];
  if (body === undefined) throw new Error(`the state has no class ${name}`);
  return [...body.matchAll(/^ {2}(\w+): (\w+);/gm)].map(([, field, found]) => {
    if (found !== type) throw new Error(`${name}.${field} is ${found}; all of ${name} is ${type}`);
    return field!;
  });
}

/** Where each region begins: `const FILTER_AT = REGULATOR_AT + 256;` adds to the one before. */
function placesOf(source: string): ReadonlyMap<string, number> {
  const places = new Map<string, number>();
  for (const [, name, before, bytes] of source.matchAll(/^const (\w+)_AT = (?:(\w+)_AT \+ )?(\d+);/gm)) {
    places.set(name!, (before === undefined ? 0 : places.get(before)!) + Number(bytes));
  }
  return places;
}

/** `wire/state-fields.gen.ts` from the source of `control/state.ts`: the state region by name. */
export function stateFieldsSource(source: string): string {
  const places = placesOf(source);
  const start = places.get(REGIONS[0]!)!;
  return [
    HEADER,
    '// The state region of the control module by name, for a host that snapshots, restores and enumerates it: fields of four',
    '// bytes, as firmware/control/state.ts declares them.',
    '',
    ...REGIONS.map((name) => `export const ${name}_AT = ${places.get(name)! - start};`),
    ...CLASSES.flatMap(([name, prefix, type]) => [
      '',
      `/** ${type} each. */`,
      `export const ${prefix}_FIELDS = [`,
      ...fieldsOf(source, name, type).map((field) => `  '${field}',`),
      '] as const;',
    ]),
    '',
  ].join('\n');
}
