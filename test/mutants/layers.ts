/**
 * Whether rows compile, without a build for each: many are planted at once. A layer has no two rows in one function, so none hides
 * what another one says; and every function is an entry, so one that a row no longer calls is compiled all the same.
 */
import { readdirSync } from 'node:fs';
import { join } from 'node:path';
import { compilerErrors, controlSource, FOLDER } from './build.js';
import { type Mutant, planted } from './mutant.js';

const FILES = readdirSync(FOLDER, { recursive: true, encoding: 'utf8' }).filter((name) => name.endsWith('.ts'));
const ENTRY = [...FILES.map((name) => join(FOLDER, name)), '--target', 'release'];
const UNIT = /^(?:export )?(?:function|class|@unmanaged)\b/gm;

/** Where the function or class begins in which the row plants its defect; what stands between them counts to the one before. */
function placeOf({ file, search }: Mutant): string {
  const source = controlSource(file);
  const at = source.indexOf(search);
  const begins = [...source.matchAll(UNIT)].map(({ index }) => index).filter((index) => index <= at);
  return `${file} ${begins.at(-1) ?? 0}`;
}

/** The rows, in as few layers as have no two rows in one place. */
export function layersOf(mutants: readonly Mutant[]): readonly (readonly Mutant[])[] {
  const layers: Mutant[][] = [];
  const used = new Map<string, number>();
  for (const mutant of mutants) {
    const place = placeOf(mutant);
    const layer = used.get(place) ?? 0;
    used.set(place, layer + 1);
    layers[layer] ??= [];
    layers[layer].push(mutant);
  }
  return layers;
}

/** All control sources with these rows planted, every function exported. */
function sourcesWith(layer: readonly Mutant[]): ReadonlyMap<string, string> {
  return new Map(
    FILES.map((file) => {
      const rows = layer.filter((mutant) => mutant.file === file);
      return [
        join(FOLDER, file),
        rows.reduce(planted, controlSource(file)).replace(/^function /gm, 'export function '),
      ];
    }),
  );
}

/** The rows of a layer that do not compile, each with what the compiler says. */
export async function brokenRows(layer: readonly Mutant[]): Promise<readonly string[]> {
  const said = await compilerErrors(ENTRY, sourcesWith(layer));
  if (said === undefined) return [];
  if (layer.length === 1) return [`${layer[0].name} does not compile: ${said}`];
  const middle = layer.length >> 1;
  return [...(await brokenRows(layer.slice(0, middle))), ...(await brokenRows(layer.slice(middle)))];
}
