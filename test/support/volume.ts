/**
 * Some tests prove by volume: campaigns, explorations, power cuts at every operation, one program by many compilers. With
 * VOLUME=1 in the environment (`npm run test:volume`, `.ci/run`) they try all of it; `npm test` takes a sample that fails
 * for the same defects.
 */
export const VOLUME = process.env.VOLUME === '1';

/** @returns `all` of it, or in a plain run the `sample` */
export const amount = <T>(all: T, sample: T): T => (VOLUME ? all : sample);

/** Every entry, or in a plain run the first of each `every`, and the last. */
export const someOf = <T>(entries: readonly T[], every: number): readonly T[] =>
  VOLUME ? entries : entries.filter((_, index) => index % every === 0 || index === entries.length - 1);
