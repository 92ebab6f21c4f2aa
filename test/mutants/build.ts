import { existsSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import asc from 'assemblyscript/asc';
import { type Mutant, planted } from './mutant.js';

const FOLDER = 'firmware/control';
const MODULE = 'module.wasm';
/** Less optimised than the release: a defect behaves the same, and the build is quicker. */
const OPTIONS = ['--optimizeLevel', '2', '--textFile', 'module.wat', '--outFile', MODULE];

/** Each file as it was when it was first read: all mutants of a run are of one source. */
const sources = new Map<string, string | null>();

/** null where there is no such file: the compiler asks at each place where one may be. */
function sourceOf(name: string): string | null {
  const known = sources.get(name);
  if (known !== undefined) return known;
  const source = existsSync(name) ? readFileSync(name, 'utf8') : null;
  sources.set(name, source);
  return source;
}

/** The source of the mutant's file with the defect planted. @throws when a search text does not occur exactly once */
export const plantedSource = (mutant: Mutant): string => planted(sourceOf(join(FOLDER, mutant.file)) ?? '', mutant);

/**
 * Builds the control module with a defect planted, without a file being written.
 * @throws when a search text does not occur exactly once
 * @throws Error when the planted source does not compile
 */
export const buildModule = async (mutant?: Mutant): Promise<Uint8Array<ArrayBuffer>> =>
  compiled(
    mutant?.name ?? 'the module',
    [join(FOLDER, 'module.ts'), '--target', 'release'],
    mutant && join(FOLDER, mutant.file),
    mutant && plantedSource(mutant),
  );

/**
 * Compiles a module as asconfig.json says.
 * @param name for messages
 * @param entry its first source and target, as asc takes them
 * @param changed a file that gets another text
 * @throws Error when it does not compile
 */
export async function compiled(
  name: string,
  entry: readonly string[],
  changed: string | undefined,
  text: string | undefined,
): Promise<Uint8Array<ArrayBuffer>> {
  let wasm: Uint8Array | undefined;
  let said = '';
  const { error } = await asc.main([...entry, ...OPTIONS], {
    readFile: (path) => (text !== undefined && join(path) === changed ? text : sourceOf(join(path))),
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
  if (error || wasm === undefined) throw new Error(`${name} does not compile: ${said}`);
  return new Uint8Array(wasm);
}
