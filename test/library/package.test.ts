import type { ChildProcess } from 'node:child_process';
import { copyFileSync, mkdirSync, renameSync, rmSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { loadControlModule, PARAMETER_COUNT } from '../../sim/index.js';
import { Installed } from './installed.js';
import { ROOT } from './public-api.js';

const PROGRAMS = ['own-controller.ts', 'near-cut-height.ts', 'own-requirement.ts', 'box-client.ts'];

let installed: Installed;

beforeAll(async () => {
  installed = await Installed.make();
  for (const name of PROGRAMS) copyFileSync(join(ROOT, 'test/library', name), join(installed.folder, name));
});

afterAll(() => installed?.remove());

/** Emulates a box until `work` is done with its address. */
async function withEmulatedBox(work: (address: string) => Promise<void>): Promise<void> {
  const child: ChildProcess = installed.start('emulate', '--listen', '0');
  let said = '';
  const address = new Promise<string>((resolve, reject) => {
    const hear = (chunk: unknown) => {
      said += String(chunk);
      const found = /^address: (\S+)$/m.exec(said)?.[1];
      if (found !== undefined) resolve(found);
    };
    child.stdout?.on('data', hear);
    child.stderr?.on('data', hear);
    child.once('exit', () => reject(new Error(`emulate has ended: ${said}`)));
  });
  const exited = new Promise<number | null>((resolve) => child.once('exit', resolve));
  try {
    await work(await address);
    child.stdin?.write('q');
    expect(await exited).toBe(0);
  } finally {
    child.kill();
  }
}

describe('the packed package, with its production dependencies and nothing else', () => {
  it('holds what it needs, and neither sources nor tests', () => {
    expect(installed.files).toEqual(
      expect.arrayContaining([
        'README.md',
        'LICENSE',
        'sim/licences.gen.md',
        'package.json',
        'dist/firmware/control.wasm',
        'dist/sim/index.js',
        'dist/sim/index.d.ts',
        'firmware/image/standoff.image',
        'firmware/image/loader.bin',
      ]),
    );
    expect(installed.files.filter((path) => /(?<!\.d)\.ts$|(^|\/)test\//.test(path))).toEqual([]);
  });

  it('prints its version and the list of its commands without loading any other package', async () => {
    const modules = join(installed.folder, 'node_modules');
    const names = ['piscina', 'rp2040js', 'serialport', 'zod'];
    for (const name of names) {
      renameSync(join(modules, name), join(modules, `${name}-away`));
      // One that is found first, and tells: another may lie further up.
      mkdirSync(join(modules, name));
      writeFileSync(join(modules, name, 'index.js'), `throw new Error('${name} was loaded');\n`);
    }
    try {
      expect((await installed.standoff('schema')).status).not.toBe(0);
      expect(await installed.standoff('--help')).toMatchObject({ status: 0, stderr: '' });
      expect(await installed.standoff('--version')).toMatchObject({ status: 0, stderr: '' });
    } finally {
      for (const name of names) {
        rmSync(join(modules, name), { recursive: true });
        renameSync(join(modules, `${name}-away`), join(modules, name));
      }
    }
  });

  it('runs every command as far as its help', async () => {
    const { stdout, status } = await installed.standoff('--help');
    expect(status).toBe(0);
    const [list] = stdout.split('Type next');
    const commands = [...list.matchAll(/^ {2}([a-z][a-z-]*)\b.* {2}/gm)].map(([, name]) => name!);
    expect(commands.length).toBeGreaterThan(10);
    const helps = commands.filter((name) => name !== 'help').map((name) => installed.standoff(name, '--help'));
    for (const [index, help] of (await Promise.all(helps)).entries()) {
      expect(help, commands[index]).toMatchObject({ status: 0, stderr: '' });
      expect(help.stdout).toContain(`standoff ${commands[index]}`);
    }
  });

  it('cuts, designs a divider, and fuzzes with workers', async () => {
    writeFileSync(join(installed.folder, 'short.nc'), 'G21 G90\nG0 X20 Y20\nM3\nG1 X60 F2400\nM5\nM2\n');
    const cut = await installed.standoff('simulate', 'short.nc', '--json');
    expect(cut).toMatchObject({ status: 0, stderr: '' });
    expect(JSON.parse(cut.stdout)).toMatchObject({ module_sha256: loadControlModule().sha256 });
    expect(await installed.standoff('divider')).toMatchObject({ status: 0, stderr: '' });
    const fuzzed = await installed.standoff('fuzz', '--runs', '4', '--workers', '2', '--json', 'short.nc');
    expect(fuzzed.status, fuzzed.stderr).toBe(0);
    expect(JSON.parse(fuzzed.stdout)).toMatchObject({ tally: { cases: 4 } });
  });

  it('emulates a box for a second', async () => {
    await withEmulatedBox(async (address) => {
      expect(address).toMatch(/^tcp:/);
      await new Promise((resolve) => setTimeout(resolve, 1000));
    });
  });
});

describe('a program that uses the package as a stranger would', () => {
  interface Cut {
    readonly ended: string;
    readonly rms_mm: number;
    readonly broken: readonly string[];
  }
  interface Tally {
    readonly unit: string;
    readonly tested: number;
    readonly broken: number;
  }

  /** @returns what it printed */
  async function printed<T>(program: string, ...args: readonly string[]): Promise<T> {
    const { status, stdout, stderr } = await installed.run(program, ...args);
    expect(status, stderr).toBe(0);
    return JSON.parse(stdout) as T;
  }

  const WRONG = [
    "import { exampleSetup, requirementContext, type StandoffErrorCode, type Setup } from 'standoff';",
    'const { box, machine, world } = exampleSetup();',
    'export const one: Setup = { box: { ...box, pierse_ms: 400 }, machine, world };',
    'export const two = requirementContext({ cut_hight_mm: 2 });',
    "export const three: Setup = { box, machine, world: { ...world, faults: [{ kind: 'nonsense', at_s: 1 }] } };",
    "export const four: StandoffErrorCode = 'setup-nonsense';",
    'export const five = machine.axis.travel_inch;',
    '',
  ].join('\n');
  let complaints: readonly string[];

  beforeAll(async () => {
    writeFileSync(join(installed.folder, 'wrong.ts'), WRONG);
    const { stdout } = await installed.compile('wrong.ts', ...PROGRAMS);
    complaints = stdout.split('\n').filter((line) => /^\S/.test(line));
  });

  it('compiles with the strictest settings, the declarations checked as well', () => {
    expect(complaints.filter((line) => !line.startsWith('wrong.ts'))).toEqual([]);
  });

  it('does not compile with the name of a parameter, a fault or an error code that there is not', () => {
    const lines = complaints.flatMap((line) => /^wrong\.ts\((\d+),/.exec(line)?.[1] ?? []);
    expect(lines).toEqual(['3', '4', '5', '6', '7']);
  });

  it('cuts with controllers of its own: late Z steps follow worse, a late trigger breaks its requirement', async () => {
    const cuts = await printed<Record<'prompt' | 'late' | 'held', Cut>>('own-controller.js');
    expect(cuts.prompt).toMatchObject({ ended: 'finished', broken: [] });
    expect(cuts.late.rms_mm).toBeGreaterThan(1.2 * cuts.prompt.rms_mm);
    expect(cuts.held.broken).toContain('trigger-withdrawal');
  });

  it('runs a campaign with requirements of its own: each cut is judged by them, in the workers', async () => {
    const ran = await printed<{ cases: number; wide: Tally; narrow: Tally }>('own-requirement.js');
    expect(ran.cases).toBe(6);
    // A random cut whose arc never transfers does not follow.
    expect(ran.wide.tested).toBeGreaterThanOrEqual(4);
    expect(ran.wide).toMatchObject({ unit: 'mm', broken: 0 });
    expect(ran.narrow).toMatchObject({ tested: ran.wide.tested, broken: ran.wide.tested });
  });

  it('is a client of a box: reads, changes and is refused', async () => {
    await withEmulatedBox(async (address) => {
      // A box that is asked in its first 150 ms stays in its loader, and readings are of the last whole second.
      await new Promise((resolve) => setTimeout(resolve, 2500));
      const seen = await printed<Record<string, unknown>>('box-client.js', address);
      expect(seen).toMatchObject({
        in_loader: false,
        pierce_ms: seen.wanted_ms,
        others: PARAMETER_COUNT,
        kept: true,
        refused: 'box-parameter',
        silent: 'service-unknown',
      });
      expect(seen.module_sha256).toMatch(/^[0-9a-f]{64}$/);
      expect(seen.readings).toBeGreaterThan(0);
    });
  });
});
