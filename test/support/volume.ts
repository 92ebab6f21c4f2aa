/**
 * Some tests prove by volume: campaigns, explorations, power cuts at every operation, one program by many compilers. With
 * VOLUME=1 in the environment (`npm run test:volume`) they try all of it; `npm test` takes a sample that fails for the same
 * defects. With VOLUME=ci (`.ci/run`) they try all but in the few that would take minutes each: those take a larger sample, always
 * the same one.
 */
const { VOLUME: wanted = '' } = process.env;
export const VOLUME = wanted !== '';

/** @returns `all` of it, in a plain run the `sample`, in `.ci/run` what is given for it or all */
export const amount = <T>(all: T, sample: T, in_ci = all): T => (VOLUME ? (wanted === 'ci' ? in_ci : all) : sample);

/** Every entry, or in a plain run the first of each `every`, and the last; in `.ci/run` all, or of each so many. */
export function someOf<T>(entries: readonly T[], every: number, in_ci = 1): readonly T[] {
  const step = amount(1, every, in_ci);
  return entries.filter((_, index) => index % step === 0 || index === entries.length - 1);
}
