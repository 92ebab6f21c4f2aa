import { execFileSync } from 'node:child_process';
import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { hasSlurm, type Slurm, startSlurm } from '../support/slurm.js';
import { until } from '../support/until.js';
import { BROKEN_OFF, RECIPES, recipeFolder, SLOW, STANDOFF, WANTED, whole } from './recipe.js';

const demanded = process.env.CI === 'true';

describe.runIf(hasSlurm() || demanded)('an array of Slurm, on one node', () => {
  const { folder, text, kept } = recipeFolder();
  let slurm: Slurm;
  beforeAll(async () => {
    slurm = await startSlurm();
  });
  afterAll(() => slurm?.stop());

  /** As the notes say. */
  function submit(shards = 3, standoff = STANDOFF): void {
    const env = { ...slurm.env, STANDOFF: standoff, NO_COLOR: '1' };
    const line = [join(RECIPES, 'slurm.sh'), `${shards}`, ...WANTED];
    execFileSync('sh', line, { cwd: folder, env, stdio: ['ignore', 'pipe', 'pipe'] });
  }
  const queued = (...args: string[]) => slurm.run('squeue', '-h', '-r', ...args).trim();
  const arrayNumber = () => queued('-n', 'standoff', '-o', '%F').split('\n')[0];

  it('gives what one run gives, although it is cancelled, submitted again, and a task of it is queued again', async () => {
    try {
      submit();
      await until(() => kept().length > 0, 60);
      slurm.run('scancel', arrayNumber());
      // The job that would have joined them goes with them.
      await until(() => queued() === '', 60);
      expect(
        kept()
          .map((shard) => text(`shard-${shard}.log`))
          .join(),
      ).toContain(BROKEN_OFF);
      expect(() => text('campaign.json')).toThrow();

      const before = text('shard-1.log').length;
      submit();
      const task = `${arrayNumber()}_1`;
      await until(() => queued('-j', task, '-o', '%T') === 'RUNNING', 60);
      slurm.run('scontrol', 'requeue', task);
      // Slurm lets it rest for two minutes; the test does not.
      await until(() => queued('-j', task, '-o', '%T') === 'PENDING', 60);
      slurm.run('scontrol', 'update', `jobid=${task}`, 'StartTime=now');
      await until(() => queued() === '', 240);
      expect(text('shard-1.log').slice(before)).toContain('DUE TO JOB REQUEUE');
      expect(text('campaign.json')).toBe(whole());
      expect(text('campaign.log')).toContain('480 cuts tried');
    } catch (error) {
      throw new Error(`${String(error)}\n${slurm.logs()}`, { cause: error });
    }
  });

  it('is not over before a shard that was told to end has kept what is complete', async () => {
    writeFileSync(join(folder, 'slow.sh'), SLOW);
    writeFileSync(join(folder, 'slow.txt'), '');
    submit(1, 'sh slow.sh');
    await until(() => text('slow.txt') === 'begun\n', 60);
    slurm.run('scancel', arrayNumber());
    await until(() => queued() === '', 60);
    expect(text('slow.txt')).toBe('complete\n');
  });
});
