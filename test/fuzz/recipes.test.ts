import { execFileSync, spawnSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterAll, describe, expect, it } from 'vitest';
import { parse } from 'yaml';

const RECIPES = fileURLToPath(new URL('../../hardware-notes/fuzzing/', import.meta.url));
const MAIN = fileURLToPath(new URL('../../dist/sim/cli/main.js', import.meta.url));
const folder = mkdtempSync(join(tmpdir(), 'standoff-recipes-'));
afterAll(() => rmSync(folder, { recursive: true, force: true }));

const STANDOFF = `${process.execPath} ${MAIN}`;
const WANTED = ['--runs', '30', '--seed', '4'];
const env = { ...process.env, STANDOFF, NO_COLOR: '1' };

const inFolder = (name: string) => readFileSync(join(folder, name), 'utf8');

/** What one run gives; the recipes must give the same, byte for byte. */
function whole(): string {
  spawnSync(process.execPath, [MAIN, 'fuzz', ...WANTED, '--workers', '1', '--out', 'whole.json', '--force'], {
    cwd: folder,
    env,
  });
  return inFolder('whole.json');
}

const has_parallel = spawnSync('parallel', ['--version']).status === 0;
const demanded = process.env.CI === 'true';

describe('a recipe for more than one process', () => {
  it.runIf(has_parallel || demanded)('GNU parallel: gives what one run gives', () => {
    execFileSync('sh', [join(RECIPES, 'parallel.sh'), '3', ...WANTED], { cwd: folder, env, stdio: 'pipe' });
    expect(inFolder('campaign.json')).toBe(whole());
  });

  it('array of Slurm: each task runs its shard, whatever the array begins with', () => {
    for (const task of [5, 6]) {
      const array = { SLURM_ARRAY_TASK_ID: `${task}`, SLURM_ARRAY_TASK_MIN: '5', SLURM_ARRAY_TASK_COUNT: '2' };
      const args = [join(RECIPES, 'slurm-array.sh'), ...WANTED, '--force'];
      execFileSync('sh', args, { cwd: folder, env: { ...env, ...array }, stdio: 'pipe' });
    }
    const merge = ['merge', 'shard-1.json', 'shard-2.json', '--out', 'array.json', '--force'];
    spawnSync(process.execPath, [MAIN, ...merge], { cwd: folder, env });
    expect(inFolder('array.json')).toBe(whole());
  });

  it('indexed Job: is YAML that gives every shard once, and none besides', () => {
    const job = parse(readFileSync(join(RECIPES, 'indexed-job.yaml'), 'utf8'));
    expect([job.apiVersion, job.kind, job.spec.completionMode]).toEqual(['batch/v1', 'Job', 'Indexed']);
    const [shard] = job.spec.template.spec.containers;
    expect(shard.args[0]).toContain(`--shard $((JOB_COMPLETION_INDEX + 1))/${job.spec.completions} `);
    expect(job.spec.template.spec.restartPolicy).toBe('Never');
  });
});
