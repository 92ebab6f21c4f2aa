import type { Reporter, TestModule } from 'vitest/node';

/** Ends a run with one plain line, `12 passed, 0 failed, 1 skipped`, which any script can read. */
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
    // After the other reporters have printed theirs.
    process.on('exit', () => console.log(`${count.passed} passed, ${count.failed} failed, ${count.skipped} skipped`));
  }
}
