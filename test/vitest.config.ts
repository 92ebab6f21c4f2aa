import { availableParallelism } from 'node:os';
import { fileURLToPath } from 'node:url';
import { defineConfig } from 'vitest/config';
import { BaseSequencer, type TestSpecification } from 'vitest/node';

/** Files that take a minute and more by volume: one that begins last leaves the other cores without work. */
const LONG = ['explore/skip', 'advice/advice', 'emulator/closed-loop', 'reference/box-elsewhere', 'explore/planted'];

class LongestFirst extends BaseSequencer {
  override async sort(files: TestSpecification[]): Promise<TestSpecification[]> {
    const short = ({ moduleId }: TestSpecification) =>
      LONG.some((name) => moduleId.includes(`/${name}.test`)) ? 0 : 1;
    return (await super.sort(files)).toSorted((a, b) => short(a) - short(b));
  }
}

// `--mode volume` is VOLUME=1 for a shell that cannot set a variable for one command.
export default defineConfig(({ mode }) => ({
  test: {
    env: mode === 'volume' ? { VOLUME: '1' } : {},
    root: fileURLToPath(new URL('..', import.meta.url)),
    include: ['test/**/*.test.ts'],
    reporters: ['./test/support/closing-line.ts', 'default'],
    // Many files wait for an emulated box, a line or a child process: one more than there are cores keeps those busy.
    maxWorkers: availableParallelism() + 1,
    // A process keeps what it has loaded from file to file, which is half of the time of the short ones: no test leaves anything
    // behind in a module.
    isolate: false,
    sequence: { sequencer: LongestFirst },
    // Tests assert no times; a busy machine must not fail them.
    testTimeout: 300_000,
    hookTimeout: 600_000,
  },
}));
