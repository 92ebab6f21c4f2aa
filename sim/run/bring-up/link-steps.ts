// What goes over the link again and again: lockstep, speeds, restarts, replugs.
import { BAUD_AT_START } from '../../../firmware/wire/link-rows.js';
import { agreeSpeed, beginDesk, type Session } from '../../link/index.js';
import { cutLeg, randomLeg, runLockstep } from '../box/index.js';
import { loadControlModule } from '../controller/index.js';
import {
  atBox,
  type Bench,
  failed,
  isAway,
  notTried,
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

/** Brings a box into the desk state if it needs that, for a commit. */
export const readyToChange = (session: Session) => beginDesk(session, 'its next start');

/** A failure on purpose, and how the start after it must be known. */
export function failureStep(failure: number, boot: string): (context: StepContext) => Promise<StepResult> {
  return async ({ bench, count }) => {
    for (let n = 1; n <= count; n++) {
      const gone = await atBox(bench, async (session) => {
        await session.ask('desk-begin');
        await session.ask('trial-failure', { failure });
        return untilLost(bench, session, FAILS_ms);
      });
      if (!gone && bench.way === 'usb')
        return failed(`failure ${n}: the box goes on as if nothing had been`, { failures: n });
      const after = await atBox(bench, async (_, identity) => identity);
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

/** The box fails a moment after its answer, ms. */
const FAILS_ms = 2000;
