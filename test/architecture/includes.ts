import type { Graph, SourceFile } from './graph.js';

/** A C source and its header are one node: `firmware/box/tick`. */
const nodeOf = (path: string): string => path.replace(/\.[ch]$/, '');
const folderOf = (path: string): string => path.split('/').slice(0, -1).join('/');

/** Folders in which a quoted include is looked for: the file's own and those above it, then any that has it. */
function included(from: string, name: string, headers: readonly string[]): string | undefined {
  for (let folder = folderOf(from); folder !== ''; folder = folderOf(folder)) {
    if (headers.includes(`${folder}/${name}`)) return `${folder}/${name}`;
  }
  return headers.find((path) => path.endsWith(`/${name}`));
}

/** Who includes whom among C files, a source and its header taken as one; generated headers lie outside. */
export function includeGraph(files: readonly SourceFile[]): Graph {
  const sources = files.filter(({ path }) => /\.[ch]$/.test(path));
  const headers = sources.map(({ path }) => path).filter((path) => path.endsWith('.h'));
  const edges = new Map<string, Set<string>>();
  for (const { path, source } of sources) {
    const node = nodeOf(path);
    const to = edges.get(node) ?? new Set<string>();
    edges.set(node, to);
    for (const [, name] of source.matchAll(/^\s*#\s*include\s+"([^"]+)"/gm)) {
      const header = included(path, name, headers);
      if (header !== undefined && nodeOf(header) !== node) to.add(nodeOf(header));
    }
  }
  return new Map([...edges].map(([node, to]) => [node, [...to]]));
}

/** What only a port may name: a pin, a register, an address in the chip's memory map. */
const OF_A_CHIP = [
  /\bPIN_[A-Z]\w*/,
  /\bREGISTER\b/,
  /\b0x(?:1[08]0|[24d]00|e00)[0-9a-f]{5}u?\b/i,
  /"(?:\.\.\/)+ports\//,
];

/** C outside firmware/ports that knows a chip; the port's numbers come through `board.gen.h`, its hardware through a header. */
export function chipErrors({ path, source }: SourceFile): string[] {
  if (!/^firmware\/(?:wire|box|loader)\/.*\.[chS]$/.test(path) || path.startsWith('firmware/box/runtime/')) return [];
  return source.split('\n').flatMap((line, i) => {
    const found = OF_A_CHIP.map((pattern) => pattern.exec(line)?.[0]).find((text) => text !== undefined);
    return found === undefined ? [] : [`${path}:${i + 1}: ${found} belongs under firmware/ports`];
  });
}
