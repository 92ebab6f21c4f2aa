import { longerWords, nearestWord } from './nearest.js';
import { ROWS_BY_PATH, SECTION_NAMES, type Section } from './rows.js';

/** Every key that a setup knows, by the path of what it stands in: `''` → box, machine, world. */
const KEYS = new Map<string, Set<string>>();

function addKey(parent: string, key: string): void {
  const keys = KEYS.get(parent) ?? new Set();
  keys.add(key);
  KEYS.set(parent, keys);
}

for (const section of SECTION_NAMES) addKey('', section);
for (const path of [...ROWS_BY_PATH.keys(), 'world.faults']) {
  const words = path.split('.');
  for (let length = 2; length <= words.length; length++) {
    addKey(words.slice(0, length - 1).join('.'), words[length - 1]!);
  }
}

/** What to do about an unknown key: where it belongs, what was probably meant, or what there is. */
export function unknownKeyRemedy(parent: string, key: string): string {
  const elsewhere = pathsOf(key).filter((path) => path !== `${parent}.${key}`);
  if (elsewhere.length > 0) return `it belongs in ${elsewhere.map(spoken).join(' or in ')}`;
  const siblings = KEYS.get(parent) ?? new Set<string>();
  const near = likelyWords(key, siblings);
  if (near) return `did you mean ${near}?`;
  const far = nearestWord(key, new Set([...KEYS.values()].flatMap((keys) => [...keys])));
  if (far) return `did you mean ${far}, in ${pathsOf(far).map(spoken).join(' or in ')}?`;
  const list = [...siblings];
  const shown = list.length > 12 ? 'standoff schema lists what there is' : `there is ${list.join(', ')}`;
  return `take it out; ${shown}`;
}

/** What was probably meant by a key beside the setup's own, in faults, events and stored runs. */
export function otherKeyRemedy(key: string): string {
  const near = likelyWords(key, ['format', 'seed', 'setup', 'program', 'operator', ...ENTRY_KEYS]);
  return near ? `did you mean ${near}?` : 'take it out';
}

const ENTRY_KEYS = ['kind', 'at_s', 'for_s', 'value', 'line', 'on', 'name', 'text'];

/** What was probably meant by a name after `--set`: right but for its section, or nearly right. */
export function likelyPaths(name: string): string | undefined {
  const paths = [...ROWS_BY_PATH.keys()];
  const shortened = paths.map((path) => path.replace(/^box\./, ''));
  const leaves = new Map(shortened.map((path) => [path.split('.').at(-1)!, path]));
  const leaf = name.split('.').at(-1)!;
  const inside = shortened.filter((path) => path.endsWith(`.${name}`));
  if (inside.length > 0) return inside.slice(0, 3).join(' or ');
  const likely = likelyWords(name, shortened);
  if (likely) return likely;
  const near = nearestWord(leaf, leaves.keys());
  const found = near ? [near] : longerWords(leaf, leaves.keys());
  return found.length > 0 ? found.map((word) => leaves.get(word)).join(' or ') : undefined;
}

function likelyWords(word: string, known: Iterable<string>): string | undefined {
  const all = [...known];
  const near = nearestWord(word, all);
  const found = near ? [near] : longerWords(word, all);
  return found.length > 0 ? found.join(' or ') : undefined;
}

/** Paths that end in this key, box parameters before machine and world. */
function pathsOf(key: string): string[] {
  const paths: string[] = [];
  for (const [parent, keys] of KEYS) if (keys.has(key)) paths.push(parent === '' ? key : `${parent}.${key}`);
  return paths;
}

/** `machine.axis.travel_mm` → `section machine, under axis`. */
function spoken(path: string): string {
  const words = path.split('.');
  if (words.length === 1) return 'the top level of the file';
  const [section, ...groups] = words.slice(0, -1) as [Section, ...string[]];
  return `section ${section}${groups.length > 0 ? `, under ${groups.join('.')}` : ''}`;
}
