import type { ParameterValues } from '../../../firmware/wire/parameter-rows.js';
import type { CodeOf } from '../../base/index.js';
import { StandoffError } from '../../base/index.js';
import { type Row, withValues } from '../../world/plant/index.js';
import { refuseBox } from './contradictions.js';
import { shortText } from './document.js';
import { type QuantityProblem, quantityProblem, rangeProblem, typeProblem } from './problems.js';
import { ROWS_BY_PATH, readQuantity } from './schema.js';
import { type Box, defaultSetup, type Setup } from './setup.js';
import { likelyPaths } from './suggestions.js';

/**
 * The parameters of a box with some of them changed, as in `pierce_ms=400`.
 * @throws StandoffError as assignValues does, but for what concerns the machine; `set-elsewhere` for a value that no box holds
 */
export function assignBox(box: ParameterValues, assignments: readonly string[]): Box {
  const defaults = defaultSetup();
  // A box with other firmware may not hold every parameter.
  const setup = { ...defaults, box: { ...defaults.box, ...box } };
  for (const assignment of assignments) {
    const name = assignment.slice(0, Math.max(0, assignment.indexOf('='))).trim();
    if (!/^(machine|world)\./.test(name)) continue;
    const remedy = 'only parameters of the section box are kept in the box; change it in the setup file';
    throw setError('elsewhere', assignment, `${shortText(name)} is not in the box`, remedy);
  }
  // The machine that this box is on is not known here.
  const changed = assignments.reduce(assignValue, setup).box;
  refuseBox(changed);
  return changed;
}

/**
 * A setup with some values changed: `pierce_ms=400` for a parameter of the box, `machine.axis.backlash_um=30`
 * or `world.noise.white_V_rms_per_tick=0` for the rest.
 * @throws StandoffError `set-…` for an unknown name, a wrong unit or a value out of range; `setup-…` for what is refused together
 */
export function assignValues(setup: Setup, assignments: readonly string[]): Setup {
  const changed = assignments.reduce(assignValue, setup);
  refuseBox(changed.box);
  return changed;
}

function assignValue(setup: Setup, assignment: string): Setup {
  const at = assignment.indexOf('=');
  if (at < 1) throw setError('form', assignment, 'has no =', 'write name=value, such as pierce_ms=400');
  const name = assignment.slice(0, at).trim();
  const text = assignment.slice(at + 1).trim();
  const path = ROWS_BY_PATH.has(name) ? name : `box.${name}`;
  const row = ROWS_BY_PATH.get(path);
  if (!row) {
    const near = likelyPaths(name);
    const remedy = near ? `did you mean ${near}?` : 'standoff schema lists what there is';
    throw setError('unknown', assignment, `nothing is called ${shortText(name)}`, remedy);
  }
  const fail = ({ code, what, remedy }: QuantityProblem) => setError(code, assignment, what, remedy);
  const [section, ...rest] = path.split('.') as ['box' | 'machine' | 'world', ...string[]];
  if (row.kind === 'boolean') {
    if (text !== 'true' && text !== 'false') throw fail(typeProblem(row, shortText(text)));
    return { ...setup, [section]: withValues(setup[section], { [rest.join('.')]: text === 'true' }) };
  }
  const found = readQuantity(text, row);
  if (found.kind !== 'number') throw fail(quantityProblem(row, shortText(text), found));
  const { value } = found;
  const allowed = row.choices?.includes(value) ?? (value >= row.min && value <= row.max);
  if (!allowed || (row.integer && !Number.isInteger(value))) throw fail(rangeProblem(row, shortText(text)));
  if (section === 'box') return { ...setup, box: { ...setup.box, [rest[0]]: value } };
  return { ...setup, [section]: withValues(setup[section], { [rest.join('.')]: value }) };
}

function setError(code: CodeOf<'set'>, assignment: string, what: string, remedy: string): StandoffError {
  return new StandoffError(`set-${code}`, `${shortText(assignment)}: ${what}`, remedy);
}

/**
 * A number that stands outside a setup, with or without its unit.
 * @param place where it stands, for messages, such as `--limit step_mm=3 V`
 * @param row its unit, range and meaning; the value comes in this unit
 * @throws StandoffError `option-unit`, `option-type`, `option-range`
 */
export function quantityAt(place: string, row: Row, text: string): number {
  const fail = ({ code, what, remedy }: QuantityProblem) =>
    new StandoffError(`option-${code}`, `${place}: ${what}`, remedy);
  const found = readQuantity(text, row);
  if (found.kind !== 'number') throw fail(quantityProblem(row, text.trim() || 'nothing', found));
  const { value } = found;
  if (!(value >= row.min && value <= row.max)) throw fail(rangeProblem(row, text.trim()));
  return value;
}
