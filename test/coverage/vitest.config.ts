import { defineConfig } from 'vitest/config';

/** The suites that exercise the control module, on the module with counters. */
export default defineConfig({
  test: {
    root: new URL('../..', import.meta.url).pathname,
    include: ['test/control/**/*.test.ts', 'test/run/loop/**/*.test.ts'],
    // The counters stand behind the module's 4608 bytes, and that is what this one looks for.
    exclude: ['test/run/loop/regions.test.ts'],
    // As in the run of all tests: loading is half of the time of the short files.
    isolate: false,
    setupFiles: ['test/coverage/setup.ts'],
    reporters: ['dot'],
    testTimeout: 180_000,
  },
});
