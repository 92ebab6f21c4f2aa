import { type Patience, SESSION_TIMES, type Session } from './session.js';

/** A box that hears its new speed answers at once. */
const AT_NEW_SPEED: Patience = { answer_ms: 100, tries: 3, steady: true };
/** The box goes back by itself after a second without a whole frame. */
const BACK_MS = 1200;

/**
 * Asks for another speed of the line, changes to it, and makes sure that the box is still heard; if not, goes back.
 * @param fallback the speed in use so far, which is the one of a start
 * @returns the speed in use
 * @throws StandoffError when the box is not heard at the old speed either, or the port does not take it back
 */
export async function agreeSpeed(session: Session, baud: number, fallback: number): Promise<number> {
  const watched = session.unwatch();
  try {
    const answer = await session.askAnyway('line-speed', { baud });
    if (answer.status !== 0) return fallback;
    try {
      await session.line.setSpeed(baud);
      await session.ask('ping', {}, [], AT_NEW_SPEED);
      return baud;
    } catch {
      await session.line.setSpeed(fallback);
      await new Promise((resolve) => setTimeout(resolve, BACK_MS));
      await session.ask('ping', {}, [], SESSION_TIMES);
      return fallback;
    }
  } finally {
    if (watched) session.watch();
  }
}
