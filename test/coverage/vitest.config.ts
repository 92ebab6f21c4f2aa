import { defineConfig } from 'vitest/config';

/** The suites that exercise the control module, on the module with counters. */
export default defineConfig({
  test: {
    root: new URL('../..', import.meta.url).pathname,
    include: ['test/control/**/*.test.ts', 'test/run/loop/**/*.test.ts'],
    setupFiles: ['test/coverage/setup.ts'],
    reporters: ['dot'],
    testTimeout: 180_000,
  },
});
