import { placeText, StandoffError, type StandoffErrorCode } from '../../base/index.js';

/** `error`: the program is refused; `warning`: it is simulated, and is dangerous or senseless; `note`: worth knowing. */
export type DiagnosisLevel = 'error' | 'warning' | 'note';

/** One thing that was found in a program, with how often; line and column, from 1, are those of the first place. */
export interface Diagnosis {
  readonly level: DiagnosisLevel;
  readonly code: StandoffErrorCode | 'program-note' | 'program-danger';
  readonly line: number;
  readonly column: number;
  /** The offending text as it stands there. */
  readonly quote: string;
  readonly count: number;
  /** The rest of a sentence that begins with the quoted text. */
  readonly what: string;
  /** What to do; empty where nothing has to be done. */
  readonly remedy: string;
}

type Mutable<T> = { -readonly [K in keyof T]: T[K] };

/** What makes two findings one of a kind. */
export type Key = string | object;

/** Collects what one pass over a program finds, grouped by kind and word. */
export class DiagnosisList {
  errors = 0;
  private readonly groups = new Map<Key, Mutable<Diagnosis>>();

  /** Counts another one of a group. @returns false when it is the first, which has to be added */
  again(key: Key): boolean {
    const known = this.groups.get(key);
    if (known === undefined) return false;
    known.count++;
    if (known.level === 'error') this.errors++;
    return true;
  }

  /** The first one of a group. */
  add(key: Key, found: Omit<Diagnosis, 'count'>): void {
    if (this.again(key)) return;
    if (found.level === 'error') this.errors++;
    this.groups.set(key, { ...found, count: 1 });
  }

  /** In the order of their first places, errors first, then warnings, then notes. */
  sorted(): Diagnosis[] {
    return [...this.groups.values()].sort(
      (one, other) =>
        LEVELS.indexOf(one.level) - LEVELS.indexOf(other.level) || one.line - other.line || one.column - other.column,
    );
  }
}

const LEVELS: readonly DiagnosisLevel[] = ['error', 'warning', 'note'];

/** `gate.nc:4:1: "G41" asks for … (3 times)`; the remedy is not in it. */
export function diagnosisText({ line, column, quote, what, count }: Diagnosis, file: string): string {
  const times = count === 1 ? '' : ` (${count} times)`;
  return `${placeText({ file, line, column })}: "${quote}" ${what}${times}`;
}

/** A whole sentence with what to do, for a list of notes. */
export function diagnosisSentence(found: Diagnosis, file: string): string {
  return diagnosisText(found, file) + (found.remedy === '' ? '' : `; ${found.remedy}`);
}

/** More kinds of errors than this are counted, not shown: by then the file is something else. */
const MOST_SHOWN = 20;

/** One error for all errors of a program: the code is that of the first. */
export function refusal(found: readonly Diagnosis[], file: string): StandoffError {
  const errors = found.filter(({ level }) => level === 'error');
  const code = errors[0].code as StandoffErrorCode;
  if (errors.length === 1) return new StandoffError(code, diagnosisText(errors[0], file), errors[0].remedy);
  const words = errors.reduce((sum, { count }) => sum + count, 0);
  const shown = errors.slice(0, MOST_SHOWN);
  const lines = shown.flatMap((one) => [diagnosisText(one, file), `  ${one.remedy}`]);
  if (shown.length < errors.length) lines.push(`and ${errors.length - shown.length} more kinds`);
  return new StandoffError(
    code,
    `${file} is refused for ${words} places of ${errors.length} kinds:\n${lines.map((line) => `  ${line}`).join('\n')}`,
    'these are all that were found; mend them, then read it again',
  );
}
