import { type ChildProcess, execFileSync, spawn, spawnSync } from 'node:child_process';
import {
  chmodSync,
  closeSync,
  mkdirSync,
  mkdtempSync,
  openSync,
  readdirSync,
  readFileSync,
  rmSync,
  writeFileSync,
} from 'node:fs';
import { createServer } from 'node:net';
import { tmpdir, userInfo } from 'node:os';
import { join } from 'node:path';
import { setTimeout as sleep } from 'node:timers/promises';
import { until } from './until.js';

/** The daemons lie beside the programs of the administrator. */
const PATH = `${process.env.PATH ?? ''}:/usr/sbin:/sbin`;
const NEEDED = ['munged', 'mungekey', 'slurmctld', 'slurmd', 'sbatch'];

export const hasSlurm = (): boolean =>
  NEEDED.every((name) => spawnSync('sh', ['-c', `command -v ${name}`], { env: { PATH } }).status === 0);

/** Slurm with this machine as its only node, on the loopback alone, in a folder of its own. */
export interface Slurm {
  /** For whoever submits. */
  readonly env: NodeJS.ProcessEnv;
  /** Runs one of its commands. @throws what it complained of @returns what it printed */
  readonly run: (command: string, ...args: readonly string[]) => string;
  /** What the daemons said. */
  readonly logs: () => string;
  /** Ends the jobs and the daemons, and deletes the folder. */
  readonly stop: () => Promise<void>;
}

/** @throws Error with the logs when the node does not come up */
export async function startSlurm(): Promise<Slurm> {
  const folder = mkdtempSync(join(tmpdir(), 'standoff-slurm-'));
  // munged wants a socket that everybody can reach; the key beside it is its owner's alone.
  chmodSync(folder, 0o755);
  const conf = join(folder, 'slurm.conf');
  const mark = `SLURM_CONF=${conf}`;
  const foreign = /^(SLURM|SBATCH|SQUEUE)_/;
  const kept = Object.entries(process.env).filter(([name]) => !foreign.test(name));
  const env = { ...Object.fromEntries(kept), PATH, SLURM_CONF: conf };
  const options = { env, cwd: folder, encoding: 'utf8', stdio: 'pipe', input: '' } as const;
  const run = (command: string, ...args: readonly string[]) => execFileSync(command, args, options);
  const daemons: { readonly child: ChildProcess; readonly ended: Promise<unknown> }[] = [];
  const daemon = (name: string, ...args: readonly string[]) => {
    const log = openSync(join(folder, `${name}.log`), 'a');
    const child = spawn(name, args, { env, cwd: folder, stdio: ['ignore', log, log] });
    closeSync(log);
    daemons.push({ child, ended: new Promise((resolve) => child.once('exit', resolve).once('error', resolve)) });
  };
  const logs = () =>
    readdirSync(folder)
      .filter((name) => name.endsWith('.log'))
      .map((name) => `== ${name}\n${readFileSync(join(folder, name), 'utf8')}`)
      .join('\n');
  const sweep = () => killMarked(mark);
  process.once('exit', sweep);

  const stop = async () => {
    const gone = () => {
      run('scancel', '--user', userInfo().username);
      return run('squeue', '-h') === '';
    };
    await until(gone, 10).catch(() => undefined);
    for (const { child, ended } of daemons.reverse()) {
      child.kill('SIGTERM');
      await Promise.race([ended, sleep(10_000, undefined, { ref: false })]);
    }
    sweep();
    process.off('exit', sweep);
    rmSync(folder, { recursive: true, force: true });
  };

  try {
    for (const name of ['state', 'spool']) mkdirSync(join(folder, name));
    writeFileSync(conf, configuration(folder, await freePorts(2)));
    run('mungekey', '--create', `--keyfile=${join(folder, 'munge.key')}`);
    const at = (option: string, name: string) => `--${option}=${join(folder, name)}`;
    daemon(
      'munged',
      '--foreground',
      at('key-file', 'munge.key'),
      at('socket', 'munge.sock'),
      at('pid-file', 'munge.pid'),
      at('seed-file', 'munge.seed'),
    );
    await until(() => readdirSync(folder).includes('munge.sock'), 20);
    daemon('slurmctld', '-D', '-f', conf);
    daemon('slurmd', '-D', '-N', 'localhost', '-f', conf);
    await until(() => run('sinfo', '-h', '-o', '%t').trim() === 'idle', 60);
  } catch (error) {
    const said = logs();
    await stop();
    throw new Error(`Slurm did not come up: ${String(error)}\n${said}`);
  }
  return { env, run, logs, stop };
}

/** One node, no control groups, no accounting, nothing outside the folder. */
function configuration(folder: string, [controller, node]: readonly number[]): string {
  const user = userInfo().username;
  return `ClusterName=standoff
SlurmctldHost=localhost(127.0.0.1)
SlurmUser=${user}
SlurmdUser=${user}
AuthType=auth/munge
AuthInfo=socket=${folder}/munge.sock
CredType=cred/munge
SlurmctldPort=${controller}
SlurmdPort=${node}
CommunicationParameters=NoCtldInAddrAny,NoInAddrAny
StateSaveLocation=${folder}/state
SlurmdSpoolDir=${folder}/spool
SlurmctldPidFile=${folder}/slurmctld.pid
SlurmdPidFile=${folder}/slurmd.pid
SlurmdParameters=config_overrides
ProctrackType=proctrack/linuxproc
TaskPlugin=task/none
JobAcctGatherType=jobacct_gather/none
AccountingStorageType=accounting_storage/none
SelectType=select/cons_tres
SelectTypeParameters=CR_Core
SwitchType=switch/none
MpiDefault=none
MailProg=/bin/true
NodeName=localhost NodeAddr=127.0.0.1 CPUs=2
PartitionName=all Nodes=ALL Default=YES MaxTime=INFINITE State=UP
`;
}

async function freePorts(count: number): Promise<number[]> {
  const servers = await Promise.all(
    Array.from({ length: count }, async () => {
      const server = createServer();
      await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve));
      return server;
    }),
  );
  const ports = servers.map((server) => (server.address() as { port: number }).port);
  await Promise.all(servers.map((server) => new Promise((resolve) => server.close(resolve))));
  return ports;
}

/** Kills what carries the mark in its environment: daemons, their helpers and the jobs, but no other process. */
function killMarked(mark: string): void {
  for (const name of readdirSync('/proc').filter((each) => /^\d+$/.test(each))) {
    try {
      if (readFileSync(`/proc/${name}/environ`, 'utf8').split('\0').includes(mark))
        process.kill(Number(name), 'SIGKILL');
    } catch {
      // It has ended, or is somebody else's.
    }
  }
}
