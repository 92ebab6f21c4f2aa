import { StandoffError } from '../../base/index.js';
import { type QuantityProblem, quantityProblem, rangeProblem } from '../../run/setup/problems.js';
import { readQuantity } from '../../run/setup/quantity.js';
import type { Row } from '../../world/plant/index.js';

/**
 * A number with or without its unit from the command line.
 * @param place where it stands, such as `--wish step_mm=3 V`
 * @throws StandoffError `option-…` for a wrong unit, no number, or a value out of range
 */
export function quantityOption(place: string, row: Row, text: string): number {
  const fail = ({ code, what, remedy }: QuantityProblem) =>
    new StandoffError(`option-${code}`, `${place}: ${what}`, remedy);
  const found = readQuantity(text, row);
  if (found.kind !== 'number') throw fail(quantityProblem(row, text.trim() || 'nothing', found));
  const { value } = found;
  if (!(value >= row.min && value <= row.max)) throw fail(rangeProblem(row, text.trim()));
  return value;
}
