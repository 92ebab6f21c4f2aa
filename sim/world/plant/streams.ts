/** One stream of random numbers for each independent cause, so that switching one off does not shift another. */
export const STREAM = {
  reading: 1,
  coloured: 2,
  impulse: 3,
  ripple: 4,
  spatter: 5,
  strike: 6,
  bounce: 7,
  contact: 8,
  wave: 9,
} as const;
