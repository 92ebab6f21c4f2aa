import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import asc from 'assemblyscript/asc';
import { type Mutant, planted } from './mutant.js';

const FOLDER = 'firmware/control';
/** As the release, but optimised less: a defect behaves the same, and the build is quicker. */
const OPTIONS = ['--target', 'release', '--optimizeLevel', '2', '--textFile', 'module.wat'];
const MODULE = 'module.wasm';

/**
 * Builds the control module with a defect planted, without a file being written.
 * @throws StandoffError mutant-stale
 * @throws Error when the planted source does not compile
 */
export async function buildModule(mutant?: Mutant): Promise<Uint8Array<ArrayBuffer>> {
  const changed = mutant && join(FOLDER, mutant.file);
  const read = (name: string) => {
    try {
      return readFileSync(name, 'utf8');
    } catch {
      // The compiler asks for a file at each place where it may be.
      return null;
    }
  };
  let wasm: Uint8Array | undefined;
  let said = '';
  const { error } = await asc.main([join(FOLDER, 'module.ts'), ...OPTIONS, '--outFile', MODULE], {
    readFile: (name) => {
      const source = read(name);
      return mutant && source !== null && join(name) === changed ? planted(source, mutant) : source;
    },
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
  if (error || wasm === undefined) throw new Error(`${mutant?.name ?? 'the module'} does not compile: ${said}`);
  return new Uint8Array(wasm);
}
