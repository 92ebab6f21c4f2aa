import { createInterface } from 'node:readline';
import { StandoffError } from '../../base/index.js';
import { quantityAt } from '../../run/setup/index.js';
import type { Row } from '../../world/plant/index.js';

/** One question of a list. */
export interface Question<Answer> {
  /** With its hint. */
  readonly text: string;
  /** @throws StandoffError for what is no answer */
  readonly read: (text: string, number: number) => Answer;
}

/**
 * Asks one question after the other on the error stream, so that the output can be piped. On a terminal a bad answer is asked
 * again.
 * @returns the answers as far as the input went; undefined when Ctrl-C broke it off
 * @throws StandoffError for a bad answer that does not come from a terminal
 */
export async function askAll<Answer>(questions: readonly Question<Answer>[]): Promise<Answer[] | undefined> {
  const again = process.stdin.isTTY === true;
  // With a terminal as its output the line can be edited.
  const reader = createInterface({ input: process.stdin, ...(again && { output: process.stderr, terminal: true }) });
  let broken_off = false;
  reader.on('SIGINT', () => {
    broken_off = true;
    reader.close();
  });
  const lines = reader[Symbol.asyncIterator]();
  const answers: Answer[] = [];
  while (answers.length < questions.length) {
    const number = answers.length + 1;
    const { text, read } = questions[answers.length]!;
    reader.setPrompt(`${number}/${questions.length} ${text} `);
    if (again) reader.prompt();
    else process.stderr.write(`${number}/${questions.length} ${text} \n`);
    const { value, done } = await lines.next();
    if (done) break;
    try {
      answers.push(read(value, number));
    } catch (error) {
      if (!again || !(error instanceof StandoffError)) throw error;
      process.stderr.write(`${error.what}: ${error.remedy}\n`);
    }
  }
  reader.close();
  return broken_off ? undefined : answers;
}

/** What an answer may be: `y/n`, `1 or 3`, `100…500 V`. */
export function hintOf({ kind, choices, min, max, unit }: Row): string {
  if (kind === 'boolean') return 'y/n';
  const short = (value: number) => Number(value.toPrecision(4));
  return choices?.join(' or ') ?? `${short(min)}…${short(max)} ${unit}`.trimEnd();
}

/**
 * One answer, in the unit of its row; undefined: empty or `?`, which is not known.
 * @param place where it stands, such as `--arc-V 120` or `answer 3`
 * @throws StandoffError `option-…`, `answer-yes-no`, `answer-choice`
 */
export function readAnswer(row: Row, place: string, text: string): number | boolean | undefined {
  const word = text.trim().toLowerCase();
  if (word === '' || word === '?') return undefined;
  if (row.kind === 'boolean') return yesOrNo(place, word);
  const value = quantityAt(place, row, text);
  if (row.choices?.includes(value) ?? true) return value;
  const what = `${place}: ${text.trim()} is not among ${row.choices?.join(', ')}`;
  throw new StandoffError('answer-choice', what, 'give one of them');
}

function yesOrNo(place: string, word: string): boolean {
  if (['y', 'yes', 'true'].includes(word)) return true;
  if (['n', 'no', 'false'].includes(word)) return false;
  throw new StandoffError('answer-yes-no', `${place}: ${word} is neither yes nor no`, 'answer y, n, or ? if not known');
}
