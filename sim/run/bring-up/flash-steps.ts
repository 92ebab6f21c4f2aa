// What the flash chip does: times of a commit and of an update, and power that goes in the middle of a commit.
import type { ParameterValues } from '../../../firmware/wire/parameter-rows.js';
import { StandoffError } from '../../base/index.js';
import { flash, type Image, readParameters, type Session, writeParameters } from '../../link/index.js';
import {
  atBox,
  type Bench,
  failed,
  isAway,
  notTried,
  openThere,
  passed,
  type StepContext,
  type StepResult,
} from './bench.js';
import { atDesk, readyToChange } from './link-steps.js';

/** Two that any value of the range goes with, so that a mixture of two commits would show. */
type Pair = Pick<Required<ParameterValues>, 'pierce_ms' | 'spike_ms'>;
const pairOf = (n: number): Pair => ({ pierce_ms: 400 + (n % 100), spike_ms: 1 + (n % 100) / 8 });
const samePair = (one: Pair, other: Pair): boolean =>
  one.pierce_ms === other.pierce_ms && one.spike_ms === other.spike_ms;
const pairIn = ({ pierce_ms = Number.NaN, spike_ms = Number.NaN }: ParameterValues): Pair => ({ pierce_ms, spike_ms });

/** Does work, and gives the box back the parameters that it had. */
async function restoring(bench: Bench, work: () => Promise<StepResult>): Promise<StepResult> {
  const before = pairIn(await atBox(bench, readParameters));
  const result = await work();
  try {
    await atDesk(bench, (session) => writeParameters(session, before));
  } catch (error) {
    // What failed first is what counts.
    if (!(error instanceof StandoffError)) throw error;
    if (result.verdict === 'passed') return failed(`the parameters that it had could not be put back: ${error.what}`);
  }
  return result;
}

/** A commit erases a sector and programs a few pages: data sheets of the class give 400 ms at most for the first (memory). */
const COMMIT_MOST_ms = 500;

/** How long a commit takes, and whether what was written is read after a start. */
export function flashTimesStep({ bench, count }: StepContext): Promise<StepResult> {
  return restoring(bench, async () => {
    const times_ms: number[] = [];
    for (let n = 1; n <= count; n++) {
      try {
        await atDesk(bench, async (session) => {
          const begun_ms = bench.now_ms();
          await writeParameters(session, pairOf(n));
          times_ms.push(bench.now_ms() - begun_ms);
        });
      } catch (error) {
        if (!(error instanceof StandoffError)) throw error;
        return failed(`commit ${n}: ${error.what}`, { commits: n, code: error.code });
      }
      const held = pairIn(await atBox(bench, readParameters));
      if (!samePair(held, pairOf(n)))
        return failed(`commit ${n}: other values are there after the start`, { commits: n, ...held });
    }
    const [least_ms, most_ms] = [Math.min(...times_ms), Math.max(...times_ms)].map(Math.round);
    const figures = { commits: count, least_ms, most_ms };
    const words = `${count} commits in ${least_ms} to ${most_ms} ms each, read again after a start`;
    return most_ms <= COMMIT_MOST_ms ? passed(words, figures) : failed(`${words}; at most ${COMMIT_MOST_ms}`, figures);
  });
}

/** The whole image goes into the slot that is not in use, so often that both had it. */
export function updateStep(image: () => Image): (context: StepContext) => Promise<StepResult> {
  return async ({ bench, count, tell }) => {
    const slots = new Set<number>();
    let longest_ms = 0;
    for (let n = 1; n <= count; n++) {
      tell(`update ${n} of ${count} ...`);
      try {
        const result = await flash({ open: () => openThere(bench), image: image(), baud: 921_600 });
        slots.add(result.slot);
        longest_ms = Math.max(longest_ms, result.transfer_ms);
        if (result.after.image_sha256 !== image().image_sha256)
          return failed(`update ${n}: another image runs after it`, { updates: n });
      } catch (error) {
        if (!(error instanceof StandoffError)) throw error;
        return failed(`update ${n}: ${error.what}`, { updates: n, code: error.code });
      }
    }
    const words = `${count} updates verified and started, in ${slots.size} slots, ${(longest_ms / 1000).toFixed(1)} s at most`;
    const figures = { updates: count, slots: slots.size, longest_transfer_ms: Math.round(longest_ms) };
    return slots.size === Math.min(2, count) ? passed(words, figures) : failed(words, figures);
  };
}

/**
 * Commits one pair after the other until the power goes.
 * @returns the pairs of which one must be there afterwards; undefined when it did not go
 */
async function commitUntilCut(bench: Bench, session: Session, first: number) {
  const end_ms = bench.now_ms() + bench.patience_ms;
  session.watch();
  let kept = pairOf(first - 1);
  for (let n = first; ; n++) {
    if (bench.now_ms() > end_ms) return undefined;
    const tried = pairOf(n);
    try {
      await writeParameters(session, tried);
    } catch (error) {
      if (!isAway(error)) throw error;
      return { kept, tried, n };
    }
    kept = tried;
    await bench.pause(20);
  }
}

/** Power goes while parameters are being kept: the old ones are there afterwards, or the new ones, never others. */
export function powerCutsStep({ bench, count, tell }: StepContext): Promise<StepResult> {
  return restoring(bench, async () => {
    let next = 1;
    let old = 0;
    for (let cut = 1; cut <= count; cut++) {
      const found = await atBox(bench, async (session) => {
        await readyToChange(session);
        // So that the pair that is there is known.
        await writeParameters(session, pairOf(next++));
        tell(
          `${cut} of ${count}: pull the cable out within some seconds, at any moment; wait a second, put it in again.`,
        );
        await bench.deed({ kind: 'cable' });
        return commitUntilCut(bench, session, next);
      });
      if (found === undefined) return notTried(`the power did not go within ${bench.patience_ms / 1000} s`);
      const { kept, tried, n } = found;
      next = n + 1;
      const held = pairIn(await atBox(bench, readParameters, bench.patience_ms));
      if (samePair(held, kept)) old++;
      else if (!samePair(held, tried)) {
        const words = `cut ${cut}: the parameters are neither the old ones nor the new ones`;
        return failed(words, { cuts: cut, pierce_ms: held.pierce_ms, spike_ms: held.spike_ms });
      }
    }
    return passed(`${count} cuts: ${old} times the old parameters, ${count - old} times the new ones`, {
      cuts: count,
      old,
    });
  });
}
