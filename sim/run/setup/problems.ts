import type { z } from 'zod';
import type { FileCode } from '../../base/index.js';
import { FAULT_ROWS, type Row } from '../../world/plant/index.js';
import { OPERATOR_LINES } from '../loop/index.js';
import type { Path, SourceDocument } from './document.js';
import { GREATEST_SEED, type Quantity, rangeText } from './schema.js';
import { nearestWord, otherKeyRemedy, unknownKeyRemedy } from './suggestions.js';

/** What is wrong with one value, in words: the tail of a code, what, and what to do. */
export interface Problem {
  readonly code: FileCode;
  readonly what: string;
  readonly remedy: string;
}

/** What can be wrong with a number, its unit and its range. */
export interface QuantityProblem extends Problem {
  readonly code: 'range' | 'type' | 'unit';
}

/** A text that is no quantity in the row's unit. */
export function quantityProblem(row: Row, text: string, found: Exclude<Quantity, { kind: 'number' }>): QuantityProblem {
  const wanted = row.unit === '' ? 'it is a pure number, without a unit' : `it wants ${row.unit}`;
  if (found.kind === 'wrong-unit') {
    const remedy = row.unit === '' ? 'write the number alone' : `convert it and write a number in ${row.unit}`;
    return { code: 'unit', what: `${row.path} is ${text}: the unit ${found.unit} does not fit, ${wanted}`, remedy };
  }
  if (found.kind === 'comma')
    return { code: 'type', what: `${row.path} is ${text}`, remedy: 'write a point for the decimals, not a comma' };
  return { code: 'type', what: `${row.path} is ${text}, which is no number`, remedy: `give ${rangeText(row)}` };
}

/** A value of the right type that its row does not allow. */
export function rangeProblem(row: Row, text: string): QuantityProblem {
  const what = `${row.path} is ${text}, outside ${rangeText(row)}`;
  return { code: 'range', what, remedy: `choose a value inside it (${row.meaning})` };
}

/** A value of the wrong type, such as a list where a number is wanted. */
export function typeProblem(row: Row, text: string): QuantityProblem {
  return { code: 'type', what: `${row.path} is ${text}`, remedy: `give ${rangeText(row)}` };
}

/**
 * Throws the first problem of a file, in the order of the file.
 * @param rowAt the row of the value at a path, if it is a quantity
 * @param setup_depth how many words of a path lie above box, machine and world
 */
export function failFirst(
  document: SourceDocument,
  issues: readonly z.core.$ZodIssue[],
  rowAt: (path: Path) => Row | undefined,
  setup_depth: number,
): never {
  const found = issues.flatMap((issue): Issue[] =>
    issue.code === 'unrecognized_keys'
      ? issue.keys.map((key) => ({ issue, path: [...(issue.path as Path), key], key }))
      : [{ issue, path: issue.path as Path }],
  );
  const place = ({ path }: Issue) => document.offset(path) + 1 || Number.MAX_SAFE_INTEGER;
  const first = found.reduce((best, next) => (place(next) < place(best) ? next : best));
  const { path, key } = first;
  if (key !== undefined) {
    const parent = path.slice(setup_depth, -1);
    const inside = parent.length === 0 ? `a ${document.kind}` : nameOf(parent);
    const remedy = isSetupPath(path, setup_depth) ? unknownKeyRemedy(parent.join('.'), key) : otherKeyRemedy(key);
    document.fail('key-unknown', document.keyPlace(path), `${inside} has no key ${key}`, remedy);
  }
  const { code, what, remedy } = explain(document, first.issue, path, rowAt(path));
  document.fail(code, document.place(path), what, remedy);
}

interface Issue {
  readonly issue: z.core.$ZodIssue;
  readonly path: Path;
  /** The unknown key, where that is the problem. */
  readonly key?: string;
}

/** Inside box, machine or world, or beside them; the rest of a scenario has keys of its own. */
function isSetupPath(path: Path, setup_depth: number): boolean {
  return (setup_depth === 0 || path[0] === 'setup') && !path.some((word) => typeof word === 'number');
}

function explain(document: SourceDocument, issue: z.core.$ZodIssue, path: Path, row: Row | undefined): Problem {
  const name = nameOf(path);
  const text = document.quote(path);
  if (document.offset(path) < 0)
    return { code: 'key-missing', what: `${name} is missing`, remedy: `add it${row ? `: ${rangeText(row)}` : ''}` };
  if (row) {
    const outside = issue.code === 'too_small' || issue.code === 'too_big' || issue.code === 'invalid_value';
    const fraction = issue.code === 'invalid_type' && 'format' in issue;
    return (outside || fraction) && text !== 'nothing' ? rangeProblem(row, text) : typeProblem(row, text);
  }
  const last = path.at(-1);
  if (last === 'kind')
    return oneOf(
      name,
      text,
      FAULT_ROWS.map(({ kind }) => kind),
    );
  if (last === 'line') return oneOf(name, text, OPERATOR_LINES);
  if (path.length === 0) {
    const start = document.kind === 'setup' ? 'box:, machine: or world:' : 'format:';
    return { code: 'type', what: `the file starts with ${text}`, remedy: `start it with ${start} and keys below it` };
  }
  const wanted = last === 'seed' ? `a whole number from 0 to ${GREATEST_SEED}` : wantedText(issue);
  return { code: 'type', what: `${name} is ${text}`, remedy: `give ${wanted}` };
}

/** `world.faults[0].kind` */
function nameOf(path: Path): string {
  return path
    .map((word) => (typeof word === 'number' ? `[${word}]` : `.${word}`))
    .join('')
    .replace(/^\./, '');
}

function oneOf(name: string, text: string, words: readonly string[]): Problem {
  const near = nearestWord(text, words);
  const remedy = near ? `did you mean ${near}?` : `give one of ${words.join(', ')}`;
  return { code: 'word', what: `${name} is ${text}`, remedy };
}

function wantedText(issue: z.core.$ZodIssue): string {
  if (issue.code === 'too_big') return `at most ${issue.maximum} of them`;
  if (issue.code === 'too_small') return 'something, not nothing';
  if (issue.code !== 'invalid_type') return 'what the schema asks for';
  if (issue.expected === 'object') return 'keys below it, each with its value';
  if (issue.expected === 'array') return 'a list, each entry with a dash';
  return issue.expected === 'boolean' ? 'true or false' : 'a text';
}
