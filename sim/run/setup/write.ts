import { Document, Scalar, visit } from 'yaml';
import type { ParameterValues } from '../../../firmware/wire/parameter-rows.js';
import { defaultSetup, type Setup } from './setup.js';

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
