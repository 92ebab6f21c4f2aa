import type { Trial } from './trials.js';

/** The same seeds without a change and with it. */
export interface Pair {
  readonly before: Trial;
  readonly after: Trial;
}

/** Figures of some runs together. */
export interface Together {
  /** Runs. */
  readonly runs: number;
  /** Of them, those that came to the end of the program. */
  readonly finished: number;
  /** Those that broke a requirement or met the sheet. */
  readonly broken: number;
  /** Goals missed, of all runs together. */
  readonly goals_missed: number;
  /** Standoff error, rms: the mean of the runs that followed, mm; null: none did. */
  readonly error_rms_mm: number | null;
  /** Least standoff of them all, mm; null: nothing was cut. */
  readonly least_standoff_mm: number | null;
}

export function togetherOf(trials: readonly Trial[]): Together {
  const errors = trials.flatMap(({ error_rms_mm }) => error_rms_mm ?? []);
  const least = trials.flatMap(({ least_mm }) => least_mm.flatMap((each) => each ?? []));
  return {
    runs: trials.length,
    finished: trials.filter(({ finished }) => finished).length,
    broken: trials.filter(({ broken, contacts }) => broken.length > 0 || contacts > 0).length,
    goals_missed: trials.reduce((sum, { goals_missed }) => sum + goals_missed.length, 0),
    error_rms_mm: errors.length === 0 ? null : errors.reduce((sum, error) => sum + error, 0) / errors.length,
    least_standoff_mm: least.length === 0 ? null : Math.min(...least),
  };
}

const LEAST_GAIN = 0.05;

/** Whether the runs are less bad by a twentieth at least. */
export function improves(pairs: readonly Pair[]): boolean {
  const sum = (of: (pair: Pair) => Trial) => pairs.reduce((all, pair) => all + of(pair).cost, 0);
  return sum(({ after }) => after) < (1 - LEAST_GAIN) * sum(({ before }) => before);
}

/**
 * What gets worse by a change, by name: a requirement that more runs break, any contact that is left, a goal that more runs miss, runs that no
 * longer finish, a least standoff that is lower and lower than any goal allows. A run that stopped put no goal to the test over
 * the program, and its least standoff counts up to the contour in which it stopped.
 */
export function worsened(pairs: readonly Pair[]): string[] {
  const found = new Set<string>();
  const count = (list: readonly Pair[], of: (trial: Trial) => readonly string[]) => {
    const times = new Map<string, number>();
    for (const { before, after } of list) {
      for (const name of of(after)) times.set(name, (times.get(name) ?? 0) + 1);
      for (const name of of(before)) times.set(name, (times.get(name) ?? 0) - 1);
    }
    for (const [name, more] of times) if (more > 0) found.add(name);
  };
  count(pairs, ({ broken }) => broken);
  if (pairs.some(({ after }) => after.contacts > 0)) found.add('contact');
  count(pairs, ({ finished }) => (finished ? [] : ['not finished']));
  count(
    pairs.filter(({ before }) => before.finished),
    ({ goals_missed }) => goals_missed,
  );
  if (shortfall(pairs, ({ after }) => after) > shortfall(pairs, ({ before }) => before)) found.add('least standoff');
  return [...found];
}

/** How far the torch went lower than any goal lets it, in hundredths of a millimetre, over what both runs of each pair cut. */
function shortfall(pairs: readonly Pair[], of: (pair: Pair) => Trial): number {
  const depths = pairs.flatMap((pair) => {
    const { finished, least_mm } = pair.before;
    const contours = finished ? least_mm.length : least_mm.length - 1;
    const { lowest_mm } = of(pair);
    return of(pair)
      .least_mm.slice(0, Math.max(0, contours))
      .map((least) => lowest_mm - (least ?? lowest_mm));
  });
  return Math.max(0, ...depths.map((depth_mm) => Math.round(100 * depth_mm)));
}

/** What came of a change, with its figures before and after. @param whole on all the seeds that it is to be tried on */
export function triedText(before: Together, after: Together, whole: boolean): string {
  const seeds = after.runs === 1 ? 'this seed alone' : `${after.runs} seeds`;
  const parts = [
    change(before.finished, after.finished, (runs) => `${runs} of ${after.runs} finished`),
    change(before.error_rms_mm, after.error_rms_mm, (mm) => `standoff error ${fixed(mm, 3)} mm rms`),
    change(before.least_standoff_mm, after.least_standoff_mm, (mm) => `least standoff ${fixed(mm, 2)} mm`),
    change(before.goals_missed, after.goals_missed, (goals) => `${goals} goals missed in all`),
    before.broken + after.broken === 0 ? '' : change(before.broken, after.broken, (runs) => `${runs} broken`),
  ].filter((part) => part !== '');
  const rest = whole ? '' : ' Untried on other seeds: there was no time.';
  const stopped = before.finished < before.runs && before.error_rms_mm !== null;
  const up_to = stopped ? ' A cut that stopped has figures up to there.' : '';
  return `Tried on ${seeds}: ${parts.join('; ')}.${up_to}${rest}`;
}

/** `standoff error 0.060 mm rms (before: 0.310)`; nothing where neither run had it. */
function change(before: number | null, after: number | null, text: (value: number) => string): string {
  if (after === null) return '';
  const told = text(after);
  if (before === null) return told;
  const was = text(before);
  return was === told ? told : `${told} (before: ${/[\d.]+/.exec(was)![0]})`;
}

/** @param worse what the change that takes the cause away makes worse, by name */
export const noHelpText = (worse: readonly string[]): string =>
  worse.length === 0
    ? 'Nothing that was tried helps.'
    : `The change for it was tried and is not advised: it helps, but brings or leaves ${worse.join(', ')}.`;

export const untriedText = 'Untried: a run of this cut takes too long to try it.';

const fixed = (value: number, decimals: number): string => value.toFixed(decimals);
