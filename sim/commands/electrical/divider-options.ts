import { Command, InvalidArgumentError, Option } from '@commander-js/extra-typings';
import { StandoffError } from '../../base/index.js';
import { DEFAULT_LIMITS, LIMIT_ROWS, type Limits } from '../../electrical/index.js';
import { nearestWord } from '../../run/setup/nearest.js';
import { collect } from '../base/option-values.js';
import { quantityOption } from '../../run/setup/quantity.js';

/** Designs that a search lists. */
export const LISTED = 5;

function rankOf(text: string): number {
  const rank = Number(text);
  if (Number.isInteger(rank) && rank >= 1 && rank <= LISTED) return rank;
  throw new InvalidArgumentError(`Give a whole number from 1 to ${LISTED}.`);
}

/** `standoff divider` with its options; what it does is in divider.ts. */
export const dividerCommand = () =>
  new Command('divider')
    .summary('size the arc voltage divider, or check the one in a setup')
    .description(
      'Looks through every combination of series resistors for a divider that keeps what is wished, or checks the ' +
        'one in the setup; prints its data sheet, and tries every single fault through the simulated chain and the ' +
        'control module.',
    )
    .option('--setup <file>', 'box, machine and world, as YAML (default: the example)')
    .option('--set <name=value>', 'change a value, such as machine.divider.series=24; may be repeated', collect)
    .addOption(new Option('--check', 'check the divider of the setup instead of looking for one').conflicts('rank'))
    .option('--rank <n>', 'print the data sheet of this proposal (default: 1)', rankOf)
    .option('--wish <name=value>', 'ask for another limit, such as step_mm=0.02; may be repeated', collect)
    .option('--svg <file>', 'draw the circuit')
    .option('--spice <file>', 'write a netlist for a circuit simulator')
    .option('--store <file>', 'write the setup with this divider in its machine section')
    .option('--force', 'write over existing files')
    .option('--json', 'print the data sheet as JSON and nothing else')
    .option('--plain', 'ASCII only, without colour')
    .addHelpText(
      'after',
      `\nWishes and their defaults:\n${LIMIT_ROWS.map(
        ({ name, wanted, default: value, unit, meaning }) => `  ${name}  ${wanted} ${value} ${unit}\n      ${meaning}`,
      ).join(
        '\n',
      )}\n\nExit status: 0 every wish, rating and single fault in order, 1 something is not, 2 bad input or no design at all.`,
    );

export type DividerOptions = ReturnType<ReturnType<typeof dividerCommand>['opts']>;

/**
 * The limits with some changed: `step_mm=0.02`.
 * @throws StandoffError `option-…` for an unknown wish, a wrong unit or a value out of range
 */
export function readLimits(assignments: readonly string[]): Limits {
  let limits = DEFAULT_LIMITS;
  for (const assignment of assignments) {
    const [, name = '', text = ''] = /^([^=]*)=(.*)$/s.exec(assignment) ?? [];
    const place = `--wish ${assignment}`;
    const row = LIMIT_ROWS.find((one) => one.name === name.trim());
    if (!row) {
      const names = LIMIT_ROWS.map((one) => one.name);
      const near = nearestWord(name.trim(), names);
      const remedy = near ? `did you mean ${near}?` : `there are ${names.join(', ')}`;
      throw new StandoffError('option-unknown', `${place}: nothing to wish for is called so`, remedy);
    }
    const value = quantityOption(place, { ...row, path: row.name, kind: 'number' }, text);
    limits = { ...limits, [row.name]: value };
  }
  return limits;
}
