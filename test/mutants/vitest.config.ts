import { defineConfig } from 'vitest/config';
import { BaseSequencer, type TestSpecification } from 'vitest/node';

/** Files that take a second or more; all the others together take less. */
const SLOW = ['snapshot.test.ts', 'guard.test.ts', 'requirements.property.test.ts'];
const rank = ({ moduleId }: TestSpecification) => SLOW.findIndex((name) => moduleId.endsWith(name));

/** The quick files first: what fails there need not wait for the others. */
class QuickFirst extends BaseSequencer {
  override async sort(files: TestSpecification[]): Promise<TestSpecification[]> {
    return [...files].sort((a, b) => rank(a) - rank(b) || (a.moduleId < b.moduleId ? -1 : 1));
  }
}

/** The suites of the control module up to the first test that fails, in one thread that can be ended with its process. */
export default defineConfig({
  test: {
    root: new URL('../..', import.meta.url).pathname,
    include: ['test/control/**/*.test.ts'],
    setupFiles: ['test/mutants/setup.ts'],
    sequence: { sequencer: QuickFirst },
    pool: 'threads',
    maxWorkers: 1,
    isolate: false,
    bail: 1,
    testTimeout: 60_000,
  },
});
