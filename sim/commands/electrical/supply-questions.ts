import { StandoffError } from '../../base/index.js';
import type { SupplyAnswers } from '../../electrical/index.js';
import { MACHINE_ROWS, type MachineConfig, type Row } from '../../world/plant/index.js';
import { quantityOption } from '../../run/setup/quantity.js';

type Asked = Exclude<keyof SupplyAnswers, 'efficiency' | 'power_factor'>;

/** What is asked, in the order of asking; the answer's range and unit are those of the machine section's row. */
export const QUESTIONS: readonly { readonly name: Asked; readonly text: string }[] = [
  { name: 'high_frequency_start', text: 'Is the pilot arc lit by high frequency (not by a moving electrode)?' },
  { name: 'trigger_latching', text: 'Does the arc go on when the trigger is released (latching)?' },
  { name: 'air_interlock', text: 'Does it refuse to fire without air pressure?' },
  { name: 'raw_voltage_terminals', text: 'Does its maker show where the undivided arc voltage can be taken?' },
  { name: 'no_load_V', text: 'Highest no-load voltage, from the data plate (U0)?' },
  { name: 'rated_A', text: 'Rated cutting current (I2)?' },
  { name: 'duty_percent', text: 'Duty cycle at that current (X)?' },
  { name: 'cut_A', text: 'Current that will be set?' },
  { name: 'mains_V', text: 'Mains voltage (U1), between phases for three?' },
  { name: 'phases', text: 'Phases, 1 or 3?' },
  { name: 'breaker_A', text: 'Rating of the breaker of that circuit?' },
];

const ROWS: ReadonlyMap<string, Row> = new Map(MACHINE_ROWS.map((row) => [row.path, row]));
/** A supply on the market may lie outside what the box can be built for; it is then judged, not refused. */
const WIDER: Partial<Record<Asked, Partial<Row>>> = { no_load_V: { min: 0, max: 5000 } };
const rowOf = (name: Asked): Row => ({ ...ROWS.get(`supply.${name}`)!, ...WIDER[name] });

/** What a setup's machine section says. */
export const answersOf = ({ supply }: MachineConfig): SupplyAnswers => supply;

/** `yes or no`, or the range with its unit. */
export function hintOf(name: Asked): string {
  const row = rowOf(name);
  if (row.kind === 'boolean') return 'y/n';
  return row.choices ? row.choices.join(' or ') : `${row.min}…${row.max} ${row.unit}`;
}

/**
 * One answer; an empty one or `?` is `not known`.
 * @throws StandoffError `option-…` or `answer-yes-no`, with the question's number
 */
export function readAnswer(name: Asked, number: number, text: string): boolean | number | null {
  const row = rowOf(name);
  const word = text.trim().toLowerCase();
  if (word === '' || word === '?') return null;
  const place = `answer ${number}`;
  if (row.kind === 'boolean') {
    if (['y', 'yes'].includes(word)) return true;
    if (['n', 'no'].includes(word)) return false;
    throw new StandoffError(
      'answer-yes-no',
      `${place}: ${text.trim()} is neither yes nor no`,
      'answer y, n, or ? if not known',
    );
  }
  const value = quantityOption(place, row, text);
  if (row.choices && !row.choices.includes(value)) {
    throw new StandoffError(
      'answer-choice',
      `${place}: ${text.trim()} is not among ${row.choices.join(', ')}`,
      'give one of them',
    );
  }
  return value;
}

/** Answers with nothing known but what is assumed. */
export function nothingKnown({ supply }: MachineConfig): SupplyAnswers {
  const unknown = Object.fromEntries(QUESTIONS.map(({ name }) => [name, null])) as Record<Asked, null>;
  return { ...unknown, efficiency: supply.efficiency, power_factor: supply.power_factor };
}
