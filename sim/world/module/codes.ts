// Codes that the world module and its host share: this file is compiled by both.

/** What the table is doing; stopped and finished are final and come last. */
export const RUNNING = 0;
export const DWELLING = 1;
export const WAITING_FOR_PERMIT = 2;
export const BRAKING = 3;
export const STOPPED = 4;
export const FINISHED = 5;

/** Why a program stopped before its end; 0: it did not. */
export const PERMIT_NOT_GIVEN = 1;
export const PERMIT_WITHDRAWN = 2;
export const LATCHED_STOP = 3;

/** What a block of a program does; moves come first. */
export const RAPID = 0;
export const LINE = 1;
export const ARC_CLOCKWISE = 2;
export const ARC_COUNTER_CLOCKWISE = 3;
export const DWELL = 4;
export const TORCH_ON = 5;
export const TORCH_OFF = 6;
export const END = 7;
