// What goes over the link again and again: lockstep, speeds, starts, the flash chip, the cable.
import { BAUD_AT_START } from '../../../firmware/wire/link-rows.js';
import type { ParameterValues } from '../../../firmware/wire/parameter-rows.js';
import { StandoffError } from '../../base/index.js';
import {
  agreeSpeed,
  beginDesk,
  flash,
  type Image,
  markedImage,
  readParameters,
  type Session,
  writeParameters,
} from '../../link/index.js';
import { cutLeg, randomLeg, runLockstep } from '../box/index.js';
import { loadControlModule } from '../controller/index.js';
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
  untilLost,
} from './bench.js';
import { round } from './time-steps.js';

/** A box has restarted, and its port has gone, sooner, ms. */
const GOING_ms = 400;

/** Ends the desk state, and waits until the box has gone. */
async function restart(bench: Bench, session: Session): Promise<void> {
  try {
    await session.ask('restart');
  } catch (error) {
    if (!isAway(error)) throw error;
  }
  if (bench.way === 'serial') await bench.pause(GOING_ms);
  else await untilLost(bench, session, 5 * GOING_ms);
}

/** Does work in the desk state, which a restart ends. */
export function atDesk<T>(bench: Bench, work: (session: Session) => Promise<T>): Promise<T> {
  return atBox(bench, async (session) => {
    await session.ask('desk-begin');
    try {
      return await work(session);
    } finally {
      if (session.lost === '') await restart(bench, session);
    }
  });
}

/** Half of the ticks with arbitrary inputs, half with simulated cuts. */
export async function lockstepStep({ bench, count, tell }: StepContext): Promise<StepResult> {
  const module = loadControlModule();
  let ticks = 0;
  let elapsed_s = 0;
  for (const [what, leg] of [
    ['simulated cuts', cutLeg],
    ['arbitrary inputs', randomLeg],
  ] as const) {
    tell(`${what} ...`);
    const found = await atDesk(bench, async (session) => {
      await agreeSpeed(session, FASTEST, BAUD_AT_START);
      session.watch();
      return runLockstep(session, { ticks: Math.ceil(count / 2), leg: (index) => leg(module, 1 + index) });
    });
    ticks += found.ticks;
    elapsed_s += found.elapsed_s;
    const { difference } = found;
    if (difference) {
      const { tick, field, box, desk } = difference;
      const words = `box and desk DIFFER with ${what}, first in tick ${tick}, in ${field}: box ${box}, desk ${desk}`;
      return failed(words, { ticks_the_same: ticks, field });
    }
  }
  const rate = Math.round(ticks / elapsed_s);
  return passed(`${ticks} ticks the same, byte for byte; ${rate} ticks/s`, { ticks, ticks_per_s: rate });
}

const FASTEST = 921_600;
/** Speeds of the line to try, bit/s. */
const SPEEDS = [9600, 115_200, 230_400, 460_800, FASTEST];

/** Every answer at every speed, at the first asking. */
export async function speedsStep({ bench, count }: StepContext): Promise<StepResult> {
  if (bench.way === 'usb') return notTried('USB has one speed, whatever is agreed on: try it over the serial adapter');
  const answers: Record<string, number> = {};
  for (const baud of SPEEDS) {
    const trouble = await atBox(bench, async (session) => {
      const agreed = await agreeSpeed(session, baud, BAUD_AT_START);
      if (agreed !== baud) return `${baud} bit/s was not agreed: the line stayed at ${agreed}`;
      const refused = session.refused;
      let right = 0;
      for (let n = 0; n < count; n++) {
        const came = await session.askAnyway('identity', {}, [], { answer_ms: 200, tries: 1 }).catch(() => undefined);
        if (came?.status === 0) right++;
      }
      answers[`answers_at_${baud}`] = right;
      await agreeSpeed(session, BAUD_AT_START, baud);
      if (right === count && session.refused === refused) return '';
      return `at ${baud} bit/s ${right} of ${count} requests were answered at the first asking, ${session.refused - refused} lines were damaged`;
    });
    if (trouble !== '') return failed(trouble, answers);
  }
  return passed(`${count} requests answered at each of ${SPEEDS.join(', ')} bit/s`, answers);
}

/** From the desk state, by the chip's own reset: each start says why it was. */
export async function restartsStep({ bench, count }: StepContext): Promise<StepResult> {
  const times_ms: number[] = [];
  for (let n = 1; n <= count; n++) {
    await atDesk(bench, async () => {});
    const begun_ms = bench.now_ms();
    const { boot, tick } = await atBox(bench, async (_, identity) => identity);
    times_ms.push(bench.now_ms() - begun_ms);
    const words = `restart ${n}: it says that it started by ${boot}, ${tick} ms ago`;
    if (boot !== 'restart') return failed(words, { restarts: n, boot });
  }
  const longest_ms = Math.max(...times_ms);
  return passed(`${count} restarts, each known as one, answering within ${(longest_ms / 1000).toFixed(1)} s`, {
    restarts: count,
    longest_ms: Math.round(longest_ms),
  });
}

/** A box that ran on has ticked as long as the clock of the host, give or take, ms. */
const CLOSE_ms = 100;

/** Cable out, cable in: the same box is back by itself. */
export async function replugsStep({ bench, count, tell }: StepContext): Promise<StepResult> {
  const times_ms: number[] = [];
  for (let n = 1; n <= count; n++) {
    const before = await atBox(bench, async (session, identity) => {
      const at_ms = bench.now_ms();
      tell(`${n} of ${count}: pull the cable out, wait a second, put it in again.`);
      await bench.deed({ kind: 'cable' });
      return (await untilLost(bench, session, bench.patience_ms)) ? { ...identity, at_ms } : undefined;
    });
    if (before === undefined) return notTried(`the cable was not pulled within ${bench.patience_ms / 1000} s`);
    const gone_ms = bench.now_ms();
    try {
      const after = await atBox(bench, async (_, identity) => identity, bench.patience_ms);
      times_ms.push(bench.now_ms() - gone_ms);
      const figures = { replugs: n, boot: after.boot };
      if (Math.abs(after.tick - (before.tick + bench.now_ms() - before.at_ms)) < CLOSE_ms)
        return notTried(`replug ${n}: the box ran on without the cable`);
      if (after.image_sha256 !== before.image_sha256) return failed(`replug ${n}: another image runs`, figures);
      if (after.boot !== 'power-up')
        return failed(`replug ${n}: the start was known as ${after.boot}, not as power-up`, figures);
    } catch (error) {
      if (!isAway(error)) throw error;
      return failed(`replug ${n}: the port did not come back within ${bench.patience_ms / 1000} s`, { replugs: n });
    }
  }
  const longest_ms = Math.max(...times_ms);
  return passed(`${count} times out and in: each time the same box was back`, {
    replugs: count,
    longest_s: round(longest_ms / 1000, 1),
  });
}

/** A failure on purpose, and how the start after it must be known. */
export function failureStep(failure: number, boot: string): (context: StepContext) => Promise<StepResult> {
  return async ({ bench, count }) => {
    for (let n = 1; n <= count; n++) {
      const gone = await atBox(bench, async (session) => {
        // A start that fails within its first second counts against the image, and three of them keep the loader.
        while (((await session.ask('ping')).values.tick as number) < OLD_ENOUGH_ms) await bench.pause(GOING_ms);
        await session.ask('desk-begin');
        await session.ask('trial-failure', { failure });
        return untilLost(bench, session, FAILS_ms);
      });
      if (!gone && bench.way === 'usb')
        return failed(`failure ${n}: the box goes on as if nothing had been`, { failures: n });
      const after = await atBox(bench, async (_, identity) => identity).catch((error: unknown) => {
        if (!isAway(error)) throw error;
        return undefined;
      });
      if (after === undefined) return failed(`failure ${n}: the box did not start again`, { failures: n });
      if (after.boot !== boot)
        return failed(`failure ${n}: the start was known as ${after.boot}, not as ${boot}`, {
          failures: n,
          boot: after.boot,
        });
    }
    return passed(`${count} times on purpose: each time the box started again, and knew why: ${boot}`, {
      failures: count,
    });
  };
}

/** A box that has run for longer has started well, ms. */
const OLD_ENOUGH_ms = 1500;
/** The box fails a moment after its answer, ms. */
const FAILS_ms = 2000;

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

/**
 * The whole image goes into the slot that is not in use, so often that both had one: by turns with a mark, for a box does not write
 * what it runs. An even number of times: the box ends with the image that it had.
 */
export function updateStep(image: () => Image): (context: StepContext) => Promise<StepResult> {
  return async ({ bench, count: wanted, tell }) => {
    const count = wanted + (wanted % 2);
    const slots = new Set<number>();
    let longest_ms = 0;
    for (let n = 1; n <= count; n++) {
      tell(`update ${n} of ${count} ...`);
      try {
        const { image_sha256 } = await atBox(bench, async (_, identity) => identity);
        const other = image_sha256 === image().image_sha256 ? markedImage(image()) : image();
        const result = await flash({ open: () => openThere(bench), image: other, baud: 921_600 });
        if (!result.written) return failed(`update ${n}: nothing was written`, { updates: n });
        slots.add(result.slot);
        longest_ms = Math.max(longest_ms, result.transfer_ms);
        if (result.after.image_sha256 !== other.image_sha256)
          return failed(`update ${n}: another image runs after it`, { updates: n });
      } catch (error) {
        if (!(error instanceof StandoffError)) throw error;
        return failed(`update ${n}: ${error.what}`, { updates: n, code: error.code });
      }
    }
    const words = `${count} updates verified and started, in ${slots.size} slots, ${(longest_ms / 1000).toFixed(1)} s at most`;
    const figures = { updates: count, slots: slots.size, longest_transfer_ms: Math.round(longest_ms) };
    return slots.size === 2 ? passed(words, figures) : failed(words, figures);
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
        await beginDesk(session, 'its next start');
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
