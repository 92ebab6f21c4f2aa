import { expect } from 'vitest';
import { StandoffError } from '../../../sim/base/index.js';

/** The error that `work` throws; fails when it throws nothing or something else than a StandoffError. */
export function refused(work: () => unknown): StandoffError {
  try {
    work();
  } catch (error) {
    expect(error).toBeInstanceOf(StandoffError);
    return error as StandoffError;
  }
  expect.fail('nothing was refused');
}
