import { existsSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import asc from 'assemblyscript/asc';
import { type Mutant, planted } from './mutant.js';

/** Sources of the control module. */
export const FOLDER = 'firmware/control';
const MODULE = 'module.wasm';
const CONFIG = 'asconfig.json';
/** Types and names are looked at, and nothing else is done. */
const PARSED = ['--optimizeLevel', '0', '--shrinkLevel', '0', '--noValidate', '--noEmit', '--disableWarning'];
const OPTIONS = ['--optimizeLevel', '2', '--outFile', MODULE];

/**
 * Less optimised than the release, not again and again until nothing changes, and without a text: a defect behaves the same, and
 * the build takes a third of the time.
 */
function quicker(config: string): string {
  const { targets, options } = JSON.parse(config);
  for (const target of Object.values<Record<string, unknown>>(targets)) delete target.textFile;
  return JSON.stringify({ targets, options: { ...options, converge: false } });
}

/** Each file as it was when it was first read: all mutants of a run are of one source. */
const sources = new Map<string, string | null>();

/** null where there is no such file: the compiler asks at each place where one may be. */
function sourceOf(name: string): string | null {
  const known = sources.get(name);
  if (known !== undefined) return known;
  const text = existsSync(name) ? readFileSync(name, 'utf8') : null;
  const source = name === CONFIG && text !== null ? quicker(text) : text;
  sources.set(name, source);
  return source;
}

/** The source of the mutant's file with the defect planted. @throws when a search text does not occur exactly once */
export const plantedSource = (mutant: Mutant): string => planted(controlSource(mutant.file), mutant);

/** The text of a file of the control module, such as `guard.ts`; empty where there is none. */
export const controlSource = (file: string): string => sourceOf(join(FOLDER, file)) ?? '';

/**
 * Builds the control module with defects planted, each in another file, without a file being written.
 * @throws when a search text does not occur exactly once, or two are of one file
 * @throws Error when the planted source does not compile
 */
export async function buildModule(...mutants: readonly Mutant[]): Promise<Uint8Array<ArrayBuffer>> {
  const changed = new Map(mutants.map((mutant) => [join(FOLDER, mutant.file), plantedSource(mutant)]));
  if (changed.size < mutants.length) throw new Error('two of these defects are of one file');
  const name = mutants.map((mutant) => mutant.name).join(' and ') || 'the module';
  return compiled(name, [join(FOLDER, 'module.ts'), '--target', 'release'], changed);
}

/**
 * Compiles a module as asconfig.json says.
 * @param name for messages
 * @param entry its first source and target, as asc takes them
 * @param changed texts of files that get others
 * @throws Error when it does not compile
 */
export async function compiled(
  name: string,
  entry: readonly string[],
  changed: ReadonlyMap<string, string>,
): Promise<Uint8Array<ArrayBuffer>> {
  const { error, said, wasm } = await compile([...entry, ...OPTIONS], changed);
  if (error || wasm === undefined) throw new Error(`${name} does not compile: ${said}`);
  return new Uint8Array(wasm);
}

/** What the compiler says when it emits nothing; undefined when it finds no error. */
export async function compilerErrors(
  entry: readonly string[],
  changed: ReadonlyMap<string, string>,
): Promise<string | undefined> {
  const { error, said } = await compile([...entry, ...PARSED], changed);
  return error ? said : undefined;
}

async function compile(args: readonly string[], changed: ReadonlyMap<string, string>) {
  let wasm: Uint8Array | undefined;
  let said = '';
  const { error } = await asc.main([...args], {
    readFile: (path) => changed.get(join(path)) ?? sourceOf(join(path)),
    writeFile: (name, contents) => {
      if (name.endsWith('.wasm')) wasm = contents as Uint8Array;
    },
    stdout: { write: () => true } as never,
    stderr: {
      write: (text: string) => {
        said += text;
        return true;
      },
    } as never,
  });
  return { error, said, wasm };
}
