import { ROWS_BY_PATH, SECTION_NAMES, type Section } from './schema.js';

/**
 * The known word that a mistyped one was probably meant to be, or undefined when none is close: at most a
 * third of its letters may differ (optimal string alignment distance: insert, delete, change, swap neighbours).
 */
export function nearestWord(word: string, known: Iterable<string>): string | undefined {
  const wanted = word.toLowerCase();
  let nearest: string | undefined;
  let least = Math.max(1, Math.floor(wanted.length / 3)) + 1;
  for (const candidate of known) {
    if (Math.abs(candidate.length - wanted.length) >= least) continue;
    const distance = editDistance(wanted, candidate.toLowerCase());
    if (distance < least) {
      least = distance;
      nearest = candidate;
    }
  }
  return nearest;
}

/** Known words that go on where this one stops, such as `cut_height_mm` for `cut_height`; at most three. */
function longerWords(word: string, known: Iterable<string>): string[] {
  const start = word.toLowerCase().replace(/_$/, '');
  if (start.length < 3) return [];
  const longer = [...new Set(known)].filter((candidate) => candidate.toLowerCase().startsWith(`${start}_`));
  return longer.slice(0, 3);
}

function editDistance(left: string, right: string): number {
  let before: number[] = [];
  let row = Array.from({ length: right.length + 1 }, (_, index) => index);
  for (let i = 1; i <= left.length; i++) {
    const next = [i];
    for (let j = 1; j <= right.length; j++) {
      const changed = left[i - 1] === right[j - 1] ? 0 : 1;
      let cost = Math.min(row[j] + 1, next[j - 1] + 1, row[j - 1] + changed);
      const swapped = i > 1 && j > 1 && left[i - 1] === right[j - 2] && left[i - 2] === right[j - 1];
      if (swapped) cost = Math.min(cost, before[j - 2] + 1);
      next.push(cost);
    }
    before = row;
    row = next;
  }
  return row[right.length];
}

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
    addKey(words.slice(0, length - 1).join('.'), words[length - 1]);
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
  const leaves = new Map(shortened.map((path) => [path.split('.').at(-1), path]));
  const leaf = name.split('.').at(-1);
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
