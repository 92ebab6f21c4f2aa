/**
 * For `runIf`, with what a check needs of the machine that it runs on: where it is missing the check is skipped, but with CI=true
 * it runs all the same, and fails.
 */
export const thereOrDemanded = (there: boolean): boolean => there || process.env.CI === 'true';
