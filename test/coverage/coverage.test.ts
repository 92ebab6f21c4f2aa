import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { main } from 'assemblyscript/asc';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { merge, type Probe, reportText, summarise } from './merge.mjs';

const PLANTED = `
export function planted(x: i32): i32 {
  let sum = 0;
  for (let i = 0; i < x; i++) sum += i;
  if (x > 5 && sum != 7) sum++;
  const sign = x < 0 ? -1 : 1;
  switch (x) {
    case 3:
    case 4:
      return 34;
    default:
      return sum * sign;
  }
}
`;

let probes: readonly Probe[] = [];
let hitsAfter: (...calls: number[]) => number[];
const folder = mkdtempSync(join(tmpdir(), 'standoff-'));

beforeAll(async () => {
  let wasm = new Uint8Array();
  const map = join(folder, 'map.json');
  process.env.STANDOFF_COVERAGE_MAP = map;
  const transform = fileURLToPath(new URL('./transform.mjs', import.meta.url));
  const options = ['--runtime', 'stub', '--initialMemory', '1', '--transform', transform, '--outFile', 'out.wasm'];
  const { error, stderr } = await main(['firmware/control/planted.ts', '--config', 'none', ...options], {
    readFile: (name) => (name === 'firmware/control/planted.ts' ? PLANTED : null),
    writeFile: (_, contents) => {
      wasm = Uint8Array.from(contents as Uint8Array);
    },
    listFiles: () => [],
  });
  if (error !== null) throw new Error(stderr.toString());
  const counters = JSON.parse(readFileSync(map, 'utf8')) as { counters_at: number; probes: Probe[] };
  probes = counters.probes;
  hitsAfter = (...calls) => {
    const { exports } = new WebAssembly.Instance(new WebAssembly.Module(wasm), {});
    for (const x of calls) (exports.planted as (x: number) => number)(x);
    const { buffer } = exports.memory as WebAssembly.Memory;
    return [...new Uint32Array(buffer, counters.counters_at, probes.length)];
  };
}, 60_000);

afterAll(() => rmSync(folder, { recursive: true }));

const unreached = (...calls: number[]) => summarise(probes, hitsAfter(...calls)).unreached.map(({ what }) => what);

describe('the counters', () => {
  it('see each statement and branch that no call has reached, with its line', () => {
    expect(unreached(3)).toEqual([
      '&& sum != 7',
      'if (x > 5 && sum != 7)',
      'sum++',
      '? -1',
      'default',
      'return sum * sign',
    ]);
    expect(summarise(probes, hitsAfter(3)).unreached[0]).toMatchObject({
      file: 'firmware/control/planted.ts',
      line: 5,
    });
  });

  it('see the way past an if, the body of a loop, and every case', () => {
    expect(unreached(8)).toEqual(['else of if (x > 5 && sum != 7)', '? -1', 'case 4', 'return 34']);
    expect(unreached(-1)).toContain('body of for');
  });

  it('are all reached by enough calls, and count them', () => {
    expect(unreached(3, 8, -1)).toEqual([]);
    const hits = hitsAfter(4, 4);
    expect(hits[probes.findIndex(({ what }) => what === 'body of for')]).toBe(8);
  });
});

describe('the report', () => {
  it('adds up what several processes counted, and refuses a list of another module', () => {
    expect(
      merge(
        [
          [1, 0, 2],
          [0, 0, 3],
        ],
        3,
      ),
    ).toEqual([1, 0, 5]);
    expect(() => merge([[1, 2]], 3)).toThrow('2 counters, the map has 3');
  });

  it('names each place that was not reached', () => {
    const two: readonly Probe[] = [
      { file: 'a.ts', line: 4, kind: 'statement', what: 'x = 1;' },
      { file: 'a.ts', line: 5, kind: 'branch', what: 'if (x)' },
    ];
    expect(reportText(summarise(two, [3, 0]))).toMatch(/1 not reached:\n {2}a\.ts:5 branch if \(x\)$/);
    expect(reportText(summarise(two, [3, 1]))).toMatch(/every statement and branch was reached$/);
  });
});
