import { StandoffError } from '../../sim/base/index.js';

/** The error that a piece of work throws. Whatever else it throws, or nothing, fails the test. */
export function thrownBy(work: () => unknown): StandoffError {
  try {
    work();
  } catch (error) {
    if (error instanceof StandoffError) return error;
    throw error;
  }
  throw new Error('nothing was thrown');
}
