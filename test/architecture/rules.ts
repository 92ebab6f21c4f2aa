/** The rules of the project's layout, as functions of text: a file's path and source in, complaints out. */
export interface SourceFile {
  /** From the project's root, with /. */
  readonly path: string;
  readonly source: string;
}

/** Besides these only dotfiles. */
const TOP_LEVEL = [
  ...['package.json', 'package-lock.json', 'tsconfig.json', 'asconfig.json'],
  ...['README.md', 'DEVELOPERS.md', 'LICENSE'],
  ...['firmware', 'sim', 'test', 'hardware-notes'],
];

/** Which rooms a room may import; its own files always. A room that is not named may not exist. */
const MAY_IMPORT: Readonly<Record<string, readonly string[]>> = {
  'firmware/wire': [],
  'firmware/control': ['firmware/wire'],
  'sim/base': [],
  'sim/plant': ['sim/base'],
  'sim/motion': ['sim/base'],
  'sim/bench': ['sim/base', 'sim/plant'],
  'sim/trace': ['sim/base', 'firmware/wire'],
  'sim/link': ['sim/base', 'firmware/wire'],
  'sim/board': ['sim/base', 'sim/controller', 'sim/link', 'firmware/wire'],
  'sim/controller': ['sim/base', 'firmware/wire'],
  'sim/explore': ['sim/base', 'firmware/wire', 'sim/controller'],
  'sim/properties': ['sim/base', 'sim/trace', 'firmware/wire'],
  'sim/report': ['sim/base', 'sim/trace', 'sim/properties', 'firmware/wire'],
  'sim/setup': ['sim/base', 'sim/controller', 'sim/plant', 'sim/loop', 'firmware/wire'],
  'sim/loop': [
    'sim/base',
    'sim/plant',
    'sim/motion',
    'sim/controller',
    'sim/board',
    'sim/link',
    'sim/trace',
    'firmware/wire',
  ],
};
const BELOW_LOOP = ['sim/loop', 'sim/properties', 'sim/setup', ...MAY_IMPORT['sim/loop']!];
/** `sim/index.ts`, the public face, may show any room but the commands. */
const ROOMS: Readonly<Record<string, readonly string[]>> = {
  ...MAY_IMPORT,
  'sim/fuzz': BELOW_LOOP,
  'sim/fit': BELOW_LOOP,
  'sim/generate': ['sim/plant', 'sim/trace', 'sim/setup', 'firmware/wire'],
  'sim/index.ts': [
    ...Object.keys(MAY_IMPORT).filter((room) => room.startsWith('sim/')),
    'sim/fuzz',
    'sim/fit',
    'firmware/wire',
  ],
};

/** Rooms without the machine around them: no file, no clock, no package. */
const PURE = ['firmware/wire', 'firmware/control', 'sim/base', 'sim/plant', 'sim/motion', 'sim/properties'];

/** What a source imports or re-exports, also for types and also late, in the order of the text. */
export function importsOf(source: string): string[] {
  const code = source.replace(/\/\*[\s\S]*?\*\//g, '').replace(/^\s*\/\/.*$/gm, '');
  const found = code.matchAll(
    /^\s*(?:import|export)\b[^;'"]*?from\s*['"]([^'"]+)['"]|^\s*import\s*['"]([^'"]+)['"]|\bimport\(\s*['"]([^'"]+)['"]/gm,
  );
  return [...found].map(([, from, bare, late]) => from ?? bare ?? late!);
}

const roomOf = (path: string): string => path.split('/').slice(0, 2).join('/');

/** The path that a relative import names. */
function resolved(path: string, specifier: string): string {
  const parts = path.split('/').slice(0, -1);
  for (const part of specifier.split('/')) {
    if (part === '..') parts.pop();
    else if (part !== '.') parts.push(part);
  }
  return parts.join('/');
}

/** Imports against the directions between rooms. */
export function directionErrors({ path, source }: SourceFile): string[] {
  if (path.startsWith('test/')) return [];
  const room = roomOf(path);
  const wrong: string[] = [];
  const allowed = ROOMS[room];
  if (allowed === undefined && room !== 'sim/cli') return [`${path}: no room ${room} is known`];
  for (const specifier of importsOf(source)) {
    if (!specifier.startsWith('.')) {
      if (PURE.includes(room)) wrong.push(`${path}: ${room} may not use ${specifier}`);
      continue;
    }
    const target = roomOf(resolved(path, specifier));
    if (target === room) continue;
    if (target === 'sim/cli' || (allowed !== undefined && !allowed.includes(target))) {
      wrong.push(`${path}: ${room} may not import ${target}`);
    } else if (room === 'sim/cli' && !target.startsWith('sim/') && target !== 'firmware/wire') {
      wrong.push(`${path}: ${room} may not import ${target}`);
    }
  }
  return wrong;
}

/** Entries of the top level that do not belong there. */
export const topLevelErrors = (names: readonly string[]): string[] =>
  names
    .filter((name) => !name.startsWith('.') && !TOP_LEVEL.includes(name))
    .map((name) => `${name} is not for the top level`);

/** An index says what a room shows, and does nothing. */
export function indexErrors({ path, source }: SourceFile): string[] {
  if (!path.endsWith('/index.ts')) return [];
  const code = source.replace(/\/\*[\s\S]*?\*\//g, '').replace(/\/\/.*$/gm, '');
  const left = code.replace(/export\s+(?:type\s+)?(?:\*(?:\s+as\s+\w+)?|\{[^}]*\})\s+from\s+'[^']+';/g, '').trim();
  return left === '' ? [] : [`${path}: an index only re-exports, this has ${left.split('\n')[0]}`];
}

const MOST_LINES = 400;
/** Files too long to be read in a sitting; generated ones are not read. */
export function lengthErrors({ path, source }: SourceFile): string[] {
  const lines = source.split('\n').length - 1;
  if (!/\.(ts|mjs)$/.test(path) || path.endsWith('.gen.ts')) return [];
  return lines > MOST_LINES ? [`${path}: ${lines} lines, at most ${MOST_LINES}`] : [];
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
