import type { Reporter, TestModule } from 'vitest/node';

const SLOWEST = 10;

/** What a file took, s: its import too, because some files run what they compare when they are loaded. */
function seconds(module: TestModule): number {
  const { duration, collectDuration, setupDuration } = module.diagnostic();
  return (duration + collectDuration + setupDuration) / 1000;
}

/**
 * Names the slowest files, and ends a run with one plain line, `12 passed, 0 failed, 1 skipped`, which any script can read.
 * Listed before the other reporters: the slowest files then stand above their summary.
 */
export default class ClosingLine implements Reporter {
  onTestRunEnd(modules: readonly TestModule[], errors: readonly unknown[]): void {
    const count = { passed: 0, failed: errors.length, skipped: 0 };
    for (const module of modules) {
      const tests = [...module.children.allTests()];
      for (const test of tests) {
        const { state } = test.result();
        if (state in count) count[state as keyof typeof count]++;
      }
      if (tests.length === 0 && module.state() === 'failed') count.failed++;
    }
    const slowest = modules.toSorted((a, b) => seconds(b) - seconds(a)).slice(0, SLOWEST);
    console.log(`\nSlowest of ${modules.length} files, s:`);
    for (const module of slowest) console.log(`${seconds(module).toFixed(1).padStart(7)}  ${module.relativeModuleId}`);
    // After the other reporters have printed theirs.
    process.on('exit', () => console.log(`${count.passed} passed, ${count.failed} failed, ${count.skipped} skipped`));
  }
}
