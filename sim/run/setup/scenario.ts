import { StandoffError } from '../../base/index.js';
import type { Row } from '../../world/plant/index.js';
import type { OperatorEvent } from '../loop/index.js';
import { refuseBox } from './contradictions.js';
import { type Path, SourceDocument } from './document.js';
import { failFirst } from './problems.js';
import { momentRow, SCENARIO_FORMAT, SCENARIO_VERSION, scenarioSchema } from './schema.js';
import { completeSetup, laterPlace, resolveQuantities, rowAt, type Setup } from './setup.js';
import { yamlText } from './write.js';

/** A stored run: all that decides its result, besides the control module. */
export interface Scenario {
  readonly seed: number;
  readonly setup: Setup;
  readonly program: { readonly name: string; readonly text: string };
  /** Absent: the operator turns the key on and lets the program run. */
  readonly operator?: readonly OperatorEvent[];
}

/**
 * Reads a stored run. A setup in it may be partial; what is left out keeps its default.
 * @throws StandoffError `scenario-…`; `scenario-version` for a file of another version
 */
export function readScenario(text: string, file: string): Scenario {
  const document = new SourceDocument(text, file, 'scenario');
  refuseOtherFormat(document);
  const value = resolveQuantities(document, DEPTH, eventRow);
  const read = scenarioSchema.safeParse(value);
  if (!read.success) {
    failFirst(document, read.error.issues, (path) => eventRow(path) ?? rowAt(document, path, DEPTH), DEPTH);
  }
  const { seed, program, setup: stated, operator } = read.data;
  const setup = completeSetup(stated ?? {});
  refuseBox(setup.box, (paths) => laterPlace(document, ['setup'], paths));
  return { seed, setup, program, ...(operator && { operator: operator as OperatorEvent[] }) };
}

/**
 * Writes a stored run with its whole setup, so that a later change of a default does not change the run.
 * Read back it gives an equal scenario.
 */
export function writeScenario({ seed, setup, program, operator }: Scenario): string {
  return yamlText({ format: SCENARIO_FORMAT, seed, setup, ...(operator && { operator }), program });
}

/** The setup lies one word deeper than in a setup file: `setup.box.pierce_ms`. */
const DEPTH = 1;

function eventRow(path: Path): Row | undefined {
  const is_moment = path[0] === 'operator' && path.length === 3 && path[2] === 'at_s';
  return is_moment ? momentRow('operator.at_s', 'moment from the start of the run') : undefined;
}

function refuseOtherFormat(document: SourceDocument): void {
  const format = (document.value as { format?: unknown })?.format;
  if (format === SCENARIO_FORMAT) return;
  const version = /^standoff scenario (\d+)$/.exec(typeof format === 'string' ? format : '')?.[1];
  const place = document.place(['format']);
  if (version === undefined) {
    const remedy = `its first line must be format: ${SCENARIO_FORMAT}`;
    throw new StandoffError('scenario-format', `${place}: this is no stored run`, remedy);
  }
  const newer = Number(version) > SCENARIO_VERSION;
  const what = `this run was stored in version ${version} of the format; version ${SCENARIO_VERSION} is read here`;
  throw new StandoffError(
    'scenario-version',
    `${place}: ${what}`,
    newer ? 'use a newer Standoff' : 'use the Standoff that wrote it, or store it again',
  );
}
