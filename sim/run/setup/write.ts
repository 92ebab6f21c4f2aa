import { Document, isMap, isScalar, type Node, type Pair, parseDocument, Scalar, visit, type YAMLMap } from 'yaml';
import type { ParameterValues } from '../../../firmware/wire/parameter-rows.js';
import { writtenUnit } from './schema.js';
import { defaultSetup, readSetup, type Setup } from './setup.js';

/** The box section of a setup file with every parameter, for a record of what a box holds. */
export function writeBox(box: ParameterValues): string {
  return yamlText({ box });
}

/** A setup file with what differs from the defaults; read back it gives an equal setup. */
export function writeSetup(setup: Setup): string {
  const stated = differences(setup, defaultSetup()) as object | undefined;
  return stated ? yamlText(stated) : '# nothing differs from the defaults\nbox:\n';
}

/** Long lines stay whole, so that a program inside a file is the program; a blank text is quoted, as a block would lose blanks. */
export function yamlText(value: object): string {
  const document = new Document(value);
  visit(document, {
    Scalar(_, node) {
      if (typeof node.value === 'string' && node.value.trim() === '') node.type = Scalar.QUOTE_DOUBLE;
    },
  });
  return document.toString({ lineWidth: 0 });
}

function differences(value: unknown, standard: unknown): unknown {
  if (typeof value !== 'object' || value === null) return Object.is(value, standard) ? undefined : value;
  if (Array.isArray(value)) return value.length === 0 ? undefined : value;
  const found = Object.entries(value)
    .map(([key, inner]) => [key, differences(inner, (standard as Record<string, unknown>)[key])] as const)
    .filter(([, inner]) => inner !== undefined);
  return found.length === 0 ? undefined : Object.fromEntries(found);
}

/**
 * Writes the parameters of a box into a setup file. Comments, order, units and everything outside the section `box`
 * stay as they are; a value that the box holds already is not touched. What the file does not have is added where it
 * differs from its default.
 * @param text the file as it is; empty or undefined: a new file, with every parameter
 * @param file its name, for messages
 * @returns the new text; read, its box section gives the same values in 32 bits
 * @throws StandoffError `setup-…` for a file that is no setup file
 */
export function updateBox(text: string | undefined, file: string, box: ParameterValues): string {
  if (text === undefined || text.trim() === '') return writeBox(box);
  const before: Readonly<Record<string, number>> = readSetup(text, file).box;
  const document = parseDocument(text);
  const section = document.get('box', true);
  const changed = Object.entries(box).filter(([name, value]) => !sameInBox(before[name], value));
  if (changed.length === 0) return text;
  if (isMap(section) && section.flow !== true && section.items.length > 0) return splice(text, section, changed);
  const made = isMap(section) ? section : (document.createNode({}) as YAMLMap);
  made.flow = false;
  document.set('box', made);
  for (const [name, value] of changed) made.set(name, value);
  return document.toString({ lineWidth: 0 });
}

/** Equal as the box stores them, in 32 bits. */
export const sameInBox = (one: number, other: number): boolean => Math.fround(one) === Math.fround(other);

/** Changes numbers in the text itself, so that not even the blanks before a comment move; adds lines at the end. */
function splice(text: string, section: YAMLMap, changed: readonly (readonly [string, number])[]): string {
  const edits = changed.flatMap(([name, value]) => {
    const old = section.get(name, true) as Node | undefined;
    return isScalar(old) && old.range ? [{ from: old.range[0], to: old.range[1], text: numberText(old, value) }] : [];
  });
  const added = changed.filter(([name]) => !section.has(name));
  let result = text;
  const { from, indent } = endOf(text, section);
  if (added.length > 0) {
    const lines = added.map(([name, value]) => `${indent}${name}: ${value}\n`).join('');
    const broken = from > 0 && text[from - 1] !== '\n' ? '\n' : '';
    result = result.slice(0, from) + broken + lines + result.slice(from);
  }
  for (const edit of edits.sort((a, b) => b.from - a.from))
    result = result.slice(0, edit.from) + edit.text + result.slice(edit.to);
  return result;
}

/** A number in the place of another one; a unit that was written with it stays. */
function numberText(old: Scalar, value: number): string {
  const unit = typeof old.value === 'string' ? writtenUnit(old.value) : '';
  const text = unit === '' ? `${value}` : `${value} ${unit}`;
  // A key without a value stands right after its colon.
  return old.value === null ? ` ${text}` : text;
}

/** Where the line after the last entry of a section begins, and how far its entries are indented. */
function endOf(text: string, section: YAMLMap): { readonly from: number; readonly indent: string } {
  const places = (section.items as Pair<Node, Node | null>[]).map(({ key, value }) => ({
    key: key.range![0],
    end: value?.range?.[1] ?? key.range![1],
  }));
  const end = Math.max(...places.map((place) => place.end));
  const line_end = text.indexOf('\n', end);
  const { key } = places[0];
  const indent = text.slice(text.lastIndexOf('\n', key - 1) + 1, key);
  return { from: line_end < 0 ? text.length : line_end + 1, indent };
}
