import { FAULT_ROWS, HOLD_ROWS, MODE_ROWS, STAGE_ROWS } from '../../firmware/wire/code-rows.js';
import { chosen, optionsOf } from './choices.js';
import type { Exploration } from './explorer.js';
import { fieldOf } from './key.js';
import { FEEDS, sequenceWord, VOLTAGES } from './world.js';

/** One tick of a counterexample: what the surroundings do, and what the box does. */
export interface CounterexampleStep {
  readonly happens: string;
  readonly box: string;
  /** For a replay: the inputs, and the key after the tick. */
  readonly digital_inputs: number;
  readonly counts: number;
  readonly feed: number;
  readonly answer_V_per_mm: number;
  readonly after: number;
}

const VERDICT = sequenceWord('verdict');
/** What makes the box come to each verdict: none yet, proved, no response, refused. */
const ANSWERS_V_PER_MM = [0, 4, 0, -4];

/** The shortest way from power-up to an entry of the table, as steps. */
export function counterexampleTo(exploration: Exploration, entry: number): CounterexampleStep[] {
  const { table } = exploration;
  const steps: CounterexampleStep[] = [];
  for (let at = entry; ; ) {
    const { parent, choice } = table.originOf(at);
    if (parent < 0) return steps.reverse();
    steps.push(counterexampleStep(exploration, table.keyAt(parent), choice, table.keyAt(at)));
    at = parent;
  }
}

/** The same, with one more tick, which need not lead to a new state. */
export function counterexampleOf(
  exploration: Exploration,
  before: number,
  choice: number,
  after: number,
): CounterexampleStep[] {
  return [
    ...counterexampleTo(exploration, before),
    counterexampleStep(exploration, exploration.table.keyAt(before), choice, after),
  ];
}

function counterexampleStep(
  exploration: Exploration,
  before: number,
  choice: number,
  after: number,
): CounterexampleStep {
  const choices = exploration.choicesOf(before);
  const { digital_inputs, voltage, feed, values } = chosen(choices, choice);
  const said = optionsOf(choices, choice)
    .map((option) => option.say)
    .filter((words) => words !== '');
  const table = feed === 0 ? [] : [`X and Y ${FEEDS[feed]}`];
  return {
    happens: [...said, `voltage: ${VOLTAGES[voltage].name}`, ...table].join('; '),
    box: stateText(before, after),
    digital_inputs,
    counts: VOLTAGES[voltage].counts,
    feed,
    answer_V_per_mm: ANSWERS_V_PER_MM[values.get(VERDICT) ?? 0],
    after,
  };
}

/** What has changed, in words; the mode alone when nothing has. */
function stateText(before: number, after: number): string {
  const parts: string[] = [];
  if ((before & 0xff) !== (after & 0xff)) parts.push(modeText(after));
  for (const name of ['trigger', 'permit', 'latched_stop', 'owned', 'armed'] as const) {
    const now = fieldOf(after, name);
    if (now !== fieldOf(before, name)) parts.push(WORDS[name][now]);
  }
  const fault = fieldOf(after, 'fault');
  if (fault !== 0 && fault !== fieldOf(before, 'fault')) parts.push(`fault ${FAULT_ROWS[fault]?.name}`);
  return parts.length === 0 ? `stays in ${modeText(after)}` : parts.join(', ');
}

/** When it goes off, when it comes on. */
const WORDS: Readonly<Record<string, readonly [string, string]>> = {
  trigger: ['trigger off', 'trigger on'],
  permit: ['motion permit off', 'motion permit on'],
  latched_stop: ['latched stop reset', 'latched stop set'],
  owned: ['Z handed back', 'Z taken over'],
  armed: ['disarmed', 'armed'],
};

/** `hold (crossing)`, `seek, slow`. */
export function modeText(key: number): string {
  const mode = MODE_ROWS[fieldOf(key, 'mode')]?.name ?? '?';
  const stage = fieldOf(key, 'stage');
  const hold = fieldOf(key, 'hold');
  const staged = stage === 0 ? '' : `, ${STAGE_ROWS[stage]?.name}`;
  return `${mode}${staged}${hold === 0 ? '' : ` (${HOLD_ROWS[hold]?.name})`}`;
}
