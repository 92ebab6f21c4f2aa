import { readdirSync, readFileSync } from 'node:fs';
import { join, relative, sep } from 'node:path';
import { fileURLToPath } from 'node:url';
import type { SourceFile } from './rules.js';

export const ROOT = fileURLToPath(new URL('../..', import.meta.url));

/** What .gitignore names, and the history itself. */
const BUILT = ['node_modules', 'dist', '.cache', '.git'];
const TEXT =
  /\.(?:ts|mjs|js|c|h|S|ld|svg|json|md|yaml|yml|nc|sh|py|txt|html|css)$|(?:^|\/)(?:run|LICENSE|\.gitignore)$/;

/** Every text file of the project as it lies on the disk. */
export function projectFiles(folder = ROOT): SourceFile[] {
  return readdirSync(folder, { withFileTypes: true }).flatMap((entry) => {
    const full = join(folder, entry.name);
    if (BUILT.includes(entry.name)) return [];
    if (entry.isDirectory()) return projectFiles(full);
    const path = relative(ROOT, full).split(sep).join('/');
    return TEXT.test(path) ? [{ path, source: readFileSync(full, 'utf8') }] : [];
  });
}

export const topLevel = (): string[] => readdirSync(ROOT).filter((name) => !BUILT.includes(name));
