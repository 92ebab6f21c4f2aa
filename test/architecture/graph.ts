/** Who imports whom, from the text of the sources. */
export interface SourceFile {
  /** From the project's root, with /. */
  readonly path: string;
  readonly source: string;
}

/** What a source imports or re-exports, also for types and also late, in the order of the text. */
export function specifiersOf(source: string): string[] {
  const code = source.replace(/\/\*[\s\S]*?\*\//g, '').replace(/^\s*\/\/.*$/gm, '');
  const found = code.matchAll(
    /^\s*(?:import|export)\b[^;'"]*?from\s*['"]([^'"]+)['"]|^\s*import\s*['"]([^'"]+)['"]|\bimport\(\s*['"]([^'"]+)['"]/gm,
  );
  return [...found].map(([, from, bare, late]) => from ?? bare ?? late);
}

/** The path of the source that a relative import names. */
export function pathOf(path: string, specifier: string): string {
  const parts = path.split('/').slice(0, -1);
  for (const part of specifier.split('/')) {
    if (part === '..') parts.pop();
    else if (part !== '.') parts.push(part);
  }
  const joined = parts.join('/');
  if (joined.endsWith('.js')) return `${joined.slice(0, -3)}.ts`;
  return /\.\w+$/.test(joined) && !joined.endsWith('.gen') ? joined : `${joined}.ts`;
}

/** Each file with the files that it imports. */
export type Graph = ReadonlyMap<string, readonly string[]>;

/** Of TypeScript and AssemblyScript; those of C are in includes.ts. */
export function importGraph(files: readonly SourceFile[]): Graph {
  const code = files.filter(({ path }) => path.endsWith('.ts'));
  const paths = new Set(code.map(({ path }) => path));
  return new Map(
    code.map(({ path, source }) => {
      const relative = specifiersOf(source).filter((specifier) => specifier.startsWith('.'));
      const targets = relative.map((specifier) => pathOf(path, specifier)).filter((target) => paths.has(target));
      return [path, [...new Set(targets)]];
    }),
  );
}

/** Groups of files each of which reaches all the others (Tarjan, 1972); files that stand alone are left out. */
export function circles(graph: Graph): string[][] {
  const order = new Map<string, number>();
  const low = new Map<string, number>();
  const open: string[] = [];
  const found: string[][] = [];
  const visit = (path: string): void => {
    order.set(path, order.size);
    low.set(path, order.get(path)!);
    open.push(path);
    for (const next of graph.get(path) ?? []) {
      if (!order.has(next)) visit(next);
      if (open.includes(next)) low.set(path, Math.min(low.get(path)!, low.get(next)!));
    }
    if (low.get(path) !== order.get(path)) return;
    const group = open.splice(open.indexOf(path));
    if (group.length > 1) found.push(group.sort());
  };
  for (const path of graph.keys()) if (!order.has(path)) visit(path);
  return found;
}

/** Files of a folder of the host that one other file of that folder imports, and nothing else does. */
export function onlyNeighbours(graph: Graph): readonly { readonly path: string; readonly by: string }[] {
  const importers = new Map<string, string[]>();
  for (const [path, targets] of graph) {
    if (path.startsWith('test/')) continue;
    for (const target of targets) importers.set(target, [...(importers.get(target) ?? []), path]);
  }
  const folder = (path: string) => path.slice(0, path.lastIndexOf('/'));
  return [...importers].flatMap(([path, by]) => {
    const alone = by.length === 1 && folder(by[0]) === folder(path) && !by[0].endsWith('/index.ts');
    return alone && path.startsWith('sim/') && !path.endsWith('.gen.ts') ? [{ path, by: by[0] }] : [];
  });
}
