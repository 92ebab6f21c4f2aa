/** The box's parameters in flash while the power fails, and the box on a line full of noise. */
import { spawnSync } from 'node:child_process';
import { mkdtempSync, readFileSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { expect, it } from 'vitest';
import { REFUSAL_ROWS } from '../../firmware/wire/code-rows.js';
import { INPUT_BREAKAWAY, INPUT_STOP_CHAIN, INPUT_TOP } from '../../firmware/wire/layout.gen.js';
import { PARAMETER_ROWS } from '../../firmware/wire/parameter-rows.js';
import { describeAgainst } from '../reference/support.js';
import { amount } from '../support/volume.js';
import { buildBox, CONTROL_WASM } from './box-native.js';
import { BoxScript } from './box-script.js';
import { GCC } from './loader-native.js';

const PIERCE = PARAMETER_ROWS.find(({ name }) => name === 'pierce_ms')!;

/** A hundred bytes each. */
const NOISE_TICKS = amount(100_000, 10_000);

const said = (
  program: string,
  ...args: readonly string[]
): { readonly status: number | null; readonly text: string } => {
  const { status, stdout, stderr } = spawnSync(program, args, { encoding: 'utf8' });
  expect(stderr).toBe('');
  return { status, text: stdout.trim() };
};

/** The module with a highest value of 2 for this parameter. */
function narrowedModule(id: number): string {
  const bytes = readFileSync(CONTROL_WASM);
  // A few of the table's values are enough to find it; longer rows of zeros are not in the file.
  const maxima = Buffer.from(new Float32Array(PARAMETER_ROWS.slice(id - 2, id + 3).map(({ max }) => max)).buffer);
  const at = bytes.indexOf(maxima);
  expect(at, 'the table of highest values').toBeGreaterThan(0);
  expect(bytes.indexOf(maxima, at + 1), 'found once').toBe(-1);
  bytes.writeFloatLE(2, at + 4 * 2);
  const file = join(mkdtempSync(join(tmpdir(), 'standoff-narrowed-')), 'control.wasm');
  writeFileSync(file, bytes);
  return file;
}

describeAgainst(GCC, 'the parameters in flash', (gcc) => {
  it('are the old ones or the new ones, whole, after a power cut at any operation of a commit', () => {
    const { status, text } = said(buildBox(gcc, { program: 'store-cuts' }));
    expect(status, text).toBe(0);
    const [cuts, old, changed] = text.match(/\d+/g)!.map(Number);
    console.info(`parameter store: ${text}`);
    // Every operation before, within and after, thousands of them; both outcomes happen.
    expect(cuts).toBeGreaterThan(3000);
    expect(old + changed).toBe(cuts);
    expect(Math.min(old, changed)).toBeGreaterThan(100);
  });

  it(`are not touched by ${100 * NOISE_TICKS} random bytes on the link, and nothing else is`, () => {
    const program = buildBox(gcc, { program: 'noise' });
    const text = `${100 * NOISE_TICKS} bytes, nothing changed`;
    expect(said(program, `${NOISE_TICKS}`)).toEqual({ status: 0, text });
  });

  it('of which the module of today does not take one: all are left at their defaults, with an event, and the outputs rest', () => {
    const program = buildBox(gcc);
    const id = PARAMETER_ROWS.find(({ name }) => name === 'gain_p_per_s')!.id;
    const script = new BoxScript().say(`digital_inputs ${INPUT_STOP_CHAIN | INPUT_BREAKAWAY | INPUT_TOP}`);
    script.run(30);
    // The one behind it is within its range, and goes with it.
    script.ask('parameters-stage', {}, [
      { id, spare: 0, value: 3 },
      { id: PIERCE.id, spare: 0, value: 433 },
    ]);
    script.ask('parameters-commit', {}, [], 200);
    const kept = script.play(program);
    expect(kept.at(-1).answers[0].status).toBe('done');
    // A module with another range, as after an update: the same flash, one range smaller.
    const later = new BoxScript(script.folder);
    later.run(30);
    const read = later.ask('parameters-read', { first: id, count: 1 });
    const events = later.ask('events-read', { first: 0, count: 9 });
    const other = later.ask('parameters-read', { first: PIERCE.id, count: 1 });
    const state = later.ask('state');
    const narrow = buildBox(gcc, { wasm: narrowedModule(id), flags: [] });
    const reports = later.play(narrow);
    expect(reports[read].answers[0].records[0].value).toBe(Math.fround(PARAMETER_ROWS[id].default));
    expect(reports[other].answers[0].records[0].value).toBe(PIERCE.default);
    const refused = reports[state].answers[0].values!.refusal as number;
    expect(REFUSAL_ROWS[refused].name).toBe('resting');
    expect(reports[events].answers[0].records).toContainEqual({ tick: 0, start: 1, kind: 16, detail: id, value: 0 });
  });
});
