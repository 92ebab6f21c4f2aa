import { execFile, spawn } from 'node:child_process';
import { cpSync, existsSync, mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { ROOT } from './public-api.js';

/** How a program ended. */
export interface Ended {
  readonly status: number;
  readonly stdout: string;
  readonly stderr: string;
}

/**
 * The package as somebody gets it: packed, unpacked into a folder of its own, and beside it what `npm install --omit=dev` would
 * put there by the lock file. Copied from the packages installed here, so that no network is needed; copied and not linked, so
 * that nothing else of this project is found from there.
 */
export class Installed {
  readonly folder = mkdtempSync(join(tmpdir(), 'standoff-installed-'));
  /** Of the tarball, each without the leading `package/`. */
  readonly files: readonly string[];

  private constructor(files: readonly string[]) {
    this.files = files;
  }

  /** Whoever makes one removes it. */
  static async make(): Promise<Installed> {
    // Without scripts: what is packed is what was built, and the tests run on.
    const { stdout } = await done('npm', ['pack', '--dry-run', '--json', '--ignore-scripts'], ROOT);
    const [{ files }] = JSON.parse(stdout) as [{ files: readonly { readonly path: string }[] }];
    const installed = new Installed(files.map(({ path }) => path));
    const { folder } = installed;
    const packed = await done('npm', ['pack', '--ignore-scripts', '--pack-destination', folder], ROOT);
    const modules = join(folder, 'node_modules');
    mkdirSync(join(modules, 'standoff'), { recursive: true });
    const tarball = packed.stdout.trim().split('\n').at(-1)!;
    await done('tar', ['-xzf', tarball, '-C', join(modules, 'standoff'), '--strip-components=1'], folder);
    for (const name of productionPackages()) cpSync(join(ROOT, name), join(folder, name), { recursive: true });
    writeFileSync(join(folder, 'package.json'), '{ "type": "module" }\n');
    return installed;
  }

  remove(): void {
    rmSync(this.folder, { recursive: true, force: true });
  }

  /** Runs `standoff` as its `bin` names it. */
  standoff(...args: readonly string[]): Promise<Ended> {
    return ended(process.execPath, [this.bin, ...args], this.folder);
  }

  /** Starts `standoff` and leaves it running. */
  start(...args: readonly string[]) {
    return spawn(process.execPath, [this.bin, ...args], { cwd: this.folder });
  }

  /** Compiles files of the folder with the strictest settings that a user may have; the declarations are checked too. */
  compile(...files: readonly string[]): Promise<Ended> {
    // What a user of TypeScript brings along.
    for (const name of ['node_modules/@types/node', 'node_modules/undici-types']) {
      if (!existsSync(join(this.folder, name))) cpSync(join(ROOT, name), join(this.folder, name), { recursive: true });
    }
    const compilerOptions = {
      target: 'es2022',
      module: 'nodenext',
      lib: ['es2023'],
      types: ['node'],
      rootDir: '.',
      strict: true,
      exactOptionalPropertyTypes: true,
      noUncheckedIndexedAccess: true,
      noImplicitOverride: true,
      noPropertyAccessFromIndexSignature: true,
      skipLibCheck: false,
    };
    writeFileSync(join(this.folder, 'tsconfig.json'), JSON.stringify({ compilerOptions, files }));
    return ended(process.execPath, [join(ROOT, 'node_modules/typescript/bin/tsc')], this.folder);
  }

  /** Runs a compiled program of the folder. */
  run(program: string, ...args: readonly string[]): Promise<Ended> {
    return ended(process.execPath, [program, ...args], this.folder);
  }

  private get bin(): string {
    const own = join(this.folder, 'node_modules/standoff');
    const { bin } = JSON.parse(readFileSync(join(own, 'package.json'), 'utf8')) as { bin: { standoff: string } };
    return join(own, bin.standoff);
  }
}

/** Folders of the packages that `--omit=dev` leaves, by the lock file; those for other platforms are not there. */
function productionPackages(): readonly string[] {
  const lock = JSON.parse(readFileSync(join(ROOT, 'package-lock.json'), 'utf8')) as {
    readonly packages: Readonly<Record<string, { readonly dev?: boolean }>>;
  };
  const names = Object.entries(lock.packages).flatMap(([name, { dev }]) => (name === '' || dev ? [] : [name]));
  return names.filter((name) => existsSync(join(ROOT, name)));
}

function ended(command: string, args: readonly string[], folder: string): Promise<Ended> {
  return new Promise((resolve) => {
    execFile(command, args, { cwd: folder, maxBuffer: 2 ** 26 }, (error, stdout, stderr) => {
      const status = error === null ? 0 : typeof error.code === 'number' ? error.code : -1;
      resolve({ status, stdout, stderr });
    });
  });
}

async function done(command: string, args: readonly string[], folder: string): Promise<Ended> {
  const result = await ended(command, args, folder);
  if (result.status !== 0)
    throw new Error(`${command} ${args.join(' ')} ended with ${result.status}: ${result.stderr}`);
  return result;
}
