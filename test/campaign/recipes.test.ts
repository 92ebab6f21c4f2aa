import { type ChildProcess, execFileSync, spawn, spawnSync } from 'node:child_process';
import { chmodSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { parse } from 'yaml';
import { until } from '../support/until.js';
import { BROKEN_OFF, RECIPES, recipeFolder, SLOW, STANDOFF, WANTED, whole } from './recipe.js';

const env = { ...process.env, STANDOFF, NO_COLOR: '1' };
const has_parallel = spawnSync('parallel', ['--version']).status === 0;
const demanded = process.env.CI === 'true';

const ended = (child: ChildProcess) =>
  new Promise<number | null>((resolve) => {
    child.once('close', (status) => resolve(status));
  });

describe.runIf(has_parallel || demanded)('GNU parallel', () => {
  const { folder, text, kept } = recipeFolder();

  it('gives what one run gives, although Ctrl-C broke it off, when the same line is given again', async () => {
    // A name with a space must come through all shells.
    writeFileSync(join(folder, 'my box.yaml'), 'box: {}\n');
    const line = [join(RECIPES, 'parallel.sh'), '3', ...WANTED, '--setup', 'my box.yaml'];
    const child = spawn('sh', line, { cwd: folder, env, stdio: 'ignore', detached: true });
    const end = ended(child);
    await until(() => kept().length > 0, 60);
    // As a terminal does: to the whole group.
    process.kill(-child.pid!, 'SIGINT');
    expect(await end).not.toBe(0);
    expect(
      kept()
        .map((shard) => text(`shard-${shard}.log`))
        .join(),
    ).toContain(BROKEN_OFF);
    execFileSync('sh', line, { cwd: folder, env, stdio: 'pipe' });
    expect(text('campaign.json')).toBe(whole());
  });

  it('waits for a shard that takes its time to keep what is complete', async () => {
    writeFileSync(join(folder, 'slow.sh'), SLOW);
    writeFileSync(join(folder, 'slow.txt'), '');
    const slow = { ...env, STANDOFF: 'sh slow.sh' };
    const line = [join(RECIPES, 'parallel.sh'), '1'];
    const child = spawn('sh', line, { cwd: folder, env: slow, stdio: 'ignore', detached: true });
    const end = ended(child);
    await until(() => text('slow.txt') === 'begun\n', 60);
    process.kill(-child.pid!, 'SIGINT');
    await end;
    await until(() => text('slow.txt') === 'complete\n', 30);
  });
});

describe('an indexed Job', () => {
  const { folder, text, kept } = recipeFolder();
  const job = parse(readFileSync(join(RECIPES, 'indexed-job.yaml'), 'utf8'));
  const [container] = job.spec.template.spec.containers;
  const [script] = container.args as readonly [string];

  it('is YAML that gives every shard once, tries again what was ended, and ends with bad input', () => {
    expect([job.apiVersion, job.kind, job.spec.completionMode]).toEqual(['batch/v1', 'Job', 'Indexed']);
    expect(container.command).toEqual(['sh', '-c']);
    expect(script).toContain(`--shard "$shard/${job.spec.completions}" `);
    // A policy of failures demands that the pod itself starts nothing again.
    expect(job.spec.template.spec.restartPolicy).toBe('Never');
    const actions = job.spec.podFailurePolicy.rules.map((rule: { action: string }) => rule.action);
    expect(actions).toEqual(['Ignore', 'FailJob']);
  });

  it('gives what one run gives, although one of its shells was told to end', async () => {
    writeFileSync(join(folder, 'standoff'), `#!/bin/sh\nexec ${STANDOFF} "$@"\n`);
    chmodSync(join(folder, 'standoff'), 0o755);
    const short = script.replace('--runs 100000 --seed 1', WANTED.join(' ')).replace('/8"', '/3"');
    const pod = (index: number) => {
      const log = `pod-${index}.log`;
      const variables = { ...env, PATH: `${folder}:${process.env.PATH}`, JOB_COMPLETION_INDEX: `${index}` };
      return spawn('sh', ['-c', `exec > ${log}\n${short}`], { cwd: folder, env: variables, stdio: 'ignore' });
    };
    const first = pod(1);
    const end = ended(first);
    await until(() => kept().includes('2'), 60);
    first.kill('SIGTERM');
    expect(await end).toBe(130);
    expect(text('pod-1.log')).toContain(BROKEN_OFF);
    expect(await Promise.all([0, 1, 2].map((index) => ended(pod(index))))).toEqual([0, 0, 0]);
    execFileSync('sh', ['-c', `${STANDOFF} merge shard-*.json --out campaign.json`], { cwd: folder, stdio: 'pipe' });
    expect(text('campaign.json')).toBe(whole());
  });
});
