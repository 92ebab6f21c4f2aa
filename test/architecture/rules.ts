/** The rules of the project's layout, as functions of text: paths and sources in, complaints out. */
import { pathOf, type SourceFile, specifiersOf } from './graph.js';

export type { SourceFile } from './graph.js';

/** Besides these only dotfiles. */
const TOP_LEVEL = [
  ...['package.json', 'package-lock.json', 'tsconfig.json', 'asconfig.json'],
  ...['README.md', 'DEVELOPERS.md', 'LICENSE'],
  ...['firmware', 'sim', 'test', 'hardware-notes'],
];

const PORT = 'firmware/ports/rp2040';
const WIRE = ['sim/base', 'firmware/wire'];
const WORLD = ['sim/world/plant', 'sim/world/motion'];
const RUN = ['sim/run/controller', 'sim/run/trace', 'sim/run/loop', 'sim/run/setup'];
/** Which folders a folder may import; its own files always. A folder that is not named may not exist. */
export const MAY_IMPORT: Readonly<Record<string, readonly string[]>> = {
  'firmware/wire': [],
  [PORT]: ['firmware/wire'],
  'firmware/control': ['firmware/wire'],
  'sim/base': [],
  'sim/generate': ['firmware/wire', PORT, 'sim/world/cells', ...WORLD, 'sim/run/trace', 'sim/run/setup'],
  'sim/base/package': ['sim/base'],
  'sim/world/cells': ['sim/base', 'sim/base/package'],
  'sim/world/plant': ['sim/base', 'sim/world/cells'],
  'sim/world/motion': ['sim/base', 'sim/world/cells', 'sim/world/module'],
  // Sources of the world module: what it is made of, and the file that joins it with a controller.
  'sim/world/module': [],
  'sim/run/loop/module': ['firmware/wire', 'sim/world/module'],
  'sim/electrical': ['sim/base', 'sim/world/plant'],
  'sim/run/trace': WIRE,
  'sim/run/controller': [...WIRE, 'sim/base/package', PORT],
  'sim/run/loop': [...WIRE, ...WORLD, 'sim/world/cells', 'sim/run/controller', 'sim/run/trace'],
  'sim/run/setup': [...WIRE, 'sim/world/plant', 'sim/run/controller', 'sim/run/loop'],
  'sim/run/job': [...WIRE, ...WORLD, ...RUN, 'sim/world/cells', 'sim/judge', 'sim/electrical'],
  'sim/run/advice': [...WIRE, 'sim/world/motion', 'sim/world/plant', ...RUN, 'sim/run/job', 'sim/judge'],
  'sim/run/box': [...WIRE, ...WORLD, ...RUN, 'sim/judge', 'sim/link', 'sim/emulator'],
  'sim/run/begin': [...WIRE, PORT, 'sim/link'],
  'sim/run/bring-up': [...WIRE, PORT, 'sim/run/box', 'sim/run/controller', 'sim/link', 'sim/emulator'],
  'sim/judge': [...WIRE, 'sim/run/trace'],
  'sim/campaign': [...WIRE, ...WORLD, ...RUN, 'sim/base/package', 'sim/world/cells', 'sim/judge', 'sim/electrical'],
  'sim/explore': [...WIRE, 'sim/base/package', 'sim/run/controller'],
  // Its loop stands in the memory of the control module, and has the fields of its state from there.
  'sim/explore/module': ['firmware/wire', 'firmware/control', 'sim/explore'],
  'sim/link': [...WIRE, PORT],
  'sim/emulator': [...WIRE, PORT, 'sim/run/controller', 'sim/link'],
  'sim/views/text': ['sim/base'],
  'sim/views/terminal': [...WIRE, 'sim/run/trace', 'sim/judge', 'sim/views/text'],
};
/** The commands may use everything but each other; what they share stands beside them. */
const COMMANDS = 'sim/commands';
const SHARED = 'sim/commands/base';
const MAIN = 'sim/commands/main.ts';
/** The public face shows any folder but the commands. */
const FACE = 'sim/index.ts';

/** Folders without the machine around them: no file, no clock, no package. */
const MODULES = ['firmware/control', 'sim/world/module', 'sim/run/loop/module'];
const PURE = ['firmware/wire', PORT, ...MODULES, 'sim/base', ...WORLD, 'sim/judge'];

/** The folder of MAY_IMPORT in which a path lies, the group of a command, or its first two parts. */
export function folderOf(path: string): string {
  const parts = path.split('/');
  if (path.startsWith(`${COMMANDS}/`)) return parts.length > 3 ? parts.slice(0, 3).join('/') : path;
  for (let length = parts.length; length > 1; length--) {
    const folder = parts.slice(0, length).join('/');
    if (MAY_IMPORT[folder] !== undefined) return folder;
  }
  return parts.slice(0, 2).join('/');
}

function mayImport(from: string, to: string): boolean {
  if (from === to) return true;
  if (from === MAIN) return !to.startsWith('test/') && !MODULES.includes(to);
  if (from.startsWith(COMMANDS)) {
    return (
      to === SHARED || to === FACE || to === 'firmware/wire' || (MAY_IMPORT[to] !== undefined && to.startsWith('sim/'))
    );
  }
  if (from === FACE) return MAY_IMPORT[to] !== undefined && !MODULES.includes(to);
  return MAY_IMPORT[from]?.includes(to) ?? false;
}

/** Imports against the directions between folders. */
export function directionErrors({ path, source }: SourceFile): string[] {
  if (path.startsWith('test/')) return [];
  const folder = folderOf(path);
  const known = MAY_IMPORT[folder] !== undefined || path === FACE || path.startsWith(`${COMMANDS}/`);
  if (!known) return [`${path}: no folder ${folder} is known`];
  return specifiersOf(source).flatMap((specifier) => {
    if (!specifier.startsWith('.')) {
      return PURE.includes(folder) ? [`${path}: ${folder} may not use ${specifier}`] : [];
    }
    const target = folderOf(pathOf(path, specifier));
    return mayImport(folder, target) ? [] : [`${path}: ${folder} may not import ${target}`];
  });
}

/** Imports from another folder that go past its index. */
export function indexPassed({ path, source }: SourceFile, paths: ReadonlySet<string>): string[] {
  if (path.startsWith('test/')) return [];
  return specifiersOf(source).flatMap((specifier) => {
    if (!specifier.startsWith('.')) return [];
    const target = pathOf(path, specifier);
    const folder = target.slice(0, target.lastIndexOf('/'));
    const from_outside = !path.startsWith(`${folder}/`);
    const has_index = paths.has(`${folder}/index.ts`);
    return from_outside && has_index && !target.endsWith('/index.ts')
      ? [`${path}: goes past the index to ${target}`]
      : [];
  });
}

/** Entries of the top level that do not belong there. */
export const topLevelErrors = (names: readonly string[]): string[] =>
  names
    .filter((name) => !name.startsWith('.') && !TOP_LEVEL.includes(name))
    .map((name) => `${name} is not for the top level`);

/** An index says what a folder shows, and does nothing. */
export function indexErrors({ path, source }: SourceFile): string[] {
  if (!path.endsWith('/index.ts')) return [];
  const code = source.replace(/\/\*[\s\S]*?\*\//g, '').replace(/\/\/.*$/gm, '');
  const left = code.replace(/export\s+(?:type\s+)?(?:\*(?:\s+as\s+\w+)?|\{[^}]*\})\s+from\s+'[^']+';/g, '').trim();
  return left === '' ? [] : [`${path}: an index only re-exports, this has ${left.split('\n')[0]}`];
}

const MOST_LINES = 350;
/** Files too long to be read in a sitting; generated ones are not read. */
export function lengthErrors({ path, source }: SourceFile): string[] {
  const lines = source.split('\n').length - 1;
  if (!/\.(ts|mjs)$/.test(path) || path.endsWith('.gen.ts')) return [];
  return lines > MOST_LINES ? [`${path}: ${lines} lines, at most ${MOST_LINES}`] : [];
}

/** More than this, and a stranger no longer sees a folder at a glance. */
const MOST_FILES = 20;
/** Folders of the host with too many files in them, the generated ones left out. */
export function folderErrors(paths: readonly string[]): string[] {
  const counts = new Map<string, number>();
  for (const path of paths) {
    if (!/^(?:sim|firmware)\/.*\.(?:ts|c|h)$/.test(path) || /\.gen\./.test(path)) continue;
    const folder = path.slice(0, path.lastIndexOf('/'));
    counts.set(folder, (counts.get(folder) ?? 0) + (path.endsWith('.h') ? 0 : 1));
  }
  return [...counts]
    .filter(([, n]) => n > MOST_FILES)
    .map(([folder, n]) => `${folder}: ${n} files, at most ${MOST_FILES}`);
}

/** Each is put together here, so that this file does not contain it. */
const WORDS = ['TO' + 'DO', 'FIX' + 'ME', 'XX' + 'X'].map((word) => [word, new RegExp(`\\b${word}\\b`)] as const);
const HOSTS = /\bregistry\.[a-z0-9-]+\.[a-z]{2,}|\b(?:npmjs|yarnpkg|pypi|pythonhosted)\.(?:org|com)\b/i;
const PATHS = /(?<![\w.])\/(?:home|root|work|tmp|Users)\/\w|\b[A-Z]:\\\\?Users\b/;
const LEFT_OUT = /\b(?:it|test|describe)\.(?:skip|only)\b/;

/** Text that belongs in no file of the project: unfinished work, registry hosts, paths of one machine. */
export function wordErrors({ path, source }: SourceFile): string[] {
  if (path === 'package-lock.json') return [];
  return source.split('\n').flatMap((line, i) => {
    const at = `${path}:${i + 1}`;
    const found = WORDS.filter(([, pattern]) => pattern.test(line)).map(([word]) => `${at}: ${word}`);
    if (HOSTS.test(line)) found.push(`${at}: names a registry: ${HOSTS.exec(line)![0]}`);
    if (PATHS.test(line)) found.push(`${at}: names a path of one machine: ${PATHS.exec(line)![0]}`);
    if (path.startsWith('test/') && LEFT_OUT.test(line)) found.push(`${at}: leaves tests out`);
    return found;
  });
}

/** A lock file that says where packages came from would name a registry. */
export function lockErrors({ path, source }: SourceFile): string[] {
  if (path !== 'package-lock.json') return [];
  const lock = JSON.parse(source) as { packages: Readonly<Record<string, { resolved?: string }>> };
  const named = Object.entries(lock.packages).filter(([, each]) => each.resolved !== undefined);
  return named.map(([name]) => `${path}: ${name} says where it was downloaded from`);
}
