import { defineConfig } from 'vitest/config';

export default defineConfig({
  test: {
    root: new URL('..', import.meta.url).pathname,
    include: ['test/**/*.test.ts'],
    reporters: ['./test/support/closing-line.ts', 'default'],
    // Tests assert no times; a busy machine must not fail them.
    testTimeout: 300_000,
    hookTimeout: 600_000,
  },
});
