import { describe, expect, it } from 'vitest';
import { findProgram, type ReferenceProgram, whenMissing } from './support.js';

const NOWHERE: ReferenceProgram = {
  name: 'a program that nobody has',
  debian: 'no-such-package',
  command: 'no-such-command-anywhere',
  probe: ['--version'],
};

describe('a reference program', () => {
  it('that is nowhere is not found', () => {
    expect(findProgram(NOWHERE)).toBeUndefined();
  });

  it('that is there but does not answer the probe is not taken', () => {
    const shell: ReferenceProgram = { name: 'shell', debian: 'dash', command: 'sh', probe: ['-c', 'exit 0'] };
    expect(findProgram(shell)).toMatch(/\/sh$/);
    expect(findProgram({ ...shell, probe: ['-c', 'exit 1'] })).toBeUndefined();
  });

  it('that is missing skips its checks on a user’s machine, in one line with the Debian package', () => {
    for (const ci of [undefined, '', 'false']) {
      const missing = whenMissing(NOWHERE, 'margins', ci);
      expect(missing.becomes).toBe('skipped');
      expect(missing.line).toBe(
        'skipped: margins: a program that nobody has is missing; Debian package no-such-package',
      );
    }
  });

  it('that is missing in CI fails its checks', () => {
    const missing = whenMissing(NOWHERE, 'margins', 'true');
    expect(missing.becomes).toBe('failed');
    expect(missing.line).toContain('no-such-package');
  });
});
