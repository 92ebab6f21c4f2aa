import { availableParallelism } from 'node:os';
import { defineConfig } from 'vitest/config';

export default defineConfig({
  test: {
    root: new URL('..', import.meta.url).pathname,
    include: ['test/**/*.test.ts'],
    reporters: ['./test/support/closing-line.ts', 'default'],
    // Many files wait for an emulated box, a line or a child process: one more than there are cores keeps those busy.
    maxWorkers: availableParallelism() + 1,
    // Tests assert no times; a busy machine must not fail them.
    testTimeout: 300_000,
    hookTimeout: 600_000,
  },
});
