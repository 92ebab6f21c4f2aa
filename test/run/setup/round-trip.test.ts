import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { StandoffError } from '../../../sim/base/index.js';
import { firstContradiction } from '../../../sim/run/setup/contradictions.js';
import {
  assignValues,
  defaultSetup,
  EXAMPLE_SETUP,
  exampleSetup,
  readScenario,
  readSetup,
  type Setup,
  writeBox,
  writeScenario,
  writeSetup,
} from '../../../sim/run/setup/index.js';
import { faultRows, SECTION_NAMES, SECTION_ROWS } from '../../../sim/run/setup/schema.js';
import { FAULT_ROWS, type Row } from '../../../sim/world/plant/index.js';

/** Values that are refused for another reason than a contradiction, and its code. */
const REFUSED_AS: Readonly<Record<string, string>> = {};

const number = (row: Row): fc.Arbitrary<number> =>
  row.integer
    ? fc.integer({ min: row.min, max: row.max })
    : fc.double({ min: row.min, max: row.max, noNaN: true, noDefaultInfinity: true });

function rowValue(row: Row): fc.Arbitrary<number | boolean> {
  if (row.kind === 'boolean') return fc.boolean();
  return row.choices ? fc.constantFrom(...row.choices) : number(row);
}

const fault = fc.constantFrom(...FAULT_ROWS.map(({ kind }) => kind)).chain((kind) => {
  const { at_s, for_s, value } = faultRows(kind);
  const parts = { at_s: number(at_s), for_s: number(for_s), ...(value && { value: number(value) }) };
  return fc.record(parts, { requiredKeys: ['at_s'] }).map((numbers) => ({ kind, ...numbers }));
});

/** Any setup that the schema allows and whose parameters are not refused together. */
const setups: fc.Arbitrary<Setup> = fc
  .record({
    values: fc.tuple(...SECTION_NAMES.flatMap((name) => SECTION_ROWS[name]).map((row) => fc.option(rowValue(row)))),
    faults: fc.array(fault, { maxLength: 3 }),
  })
  .map(({ values, faults }) => {
    const setup = defaultSetup() as unknown as Record<string, Record<string, unknown>>;
    SECTION_NAMES.flatMap((name) => SECTION_ROWS[name]).forEach((row, index) => {
      if (values[index] === null) return;
      const words = row.path.split('.');
      let group: Record<string, unknown> = setup;
      for (const word of words.slice(0, -1)) group = group[word] as Record<string, unknown>;
      group[words.at(-1)] = values[index];
    });
    setup.world.faults = faults;
    const made = setup as unknown as Setup;
    return firstContradiction(made.box) ? { ...made, box: defaultSetup().box } : made;
  });

const events = fc.array(
  fc.record({
    at_s: fc.double({ min: 0, max: 86_400, noNaN: true }),
    line: fc.constantFrom('key', 'request', 'stop-chain', 'hold', 'reset'),
    on: fc.boolean(),
  }),
  { maxLength: 5 },
);

/** Text as a program file may hold it, with every kind of line end. */
const programText = fc
  .array(
    fc.constantFrom('G0 X1', ' ', '\t', '\n', '\r\n', '\r', '%', '# no comment', ': ', "'", '"', '(ü)', '- a', '|'),
  )
  .map((pieces) => pieces.join(''));

/** The example with some of its text cut out, doubled or replaced. */
const damaged = fc
  .record({
    from: fc.nat(EXAMPLE_SETUP.length),
    length: fc.nat(40),
    inserted: fc.oneof(
      fc.string({ maxLength: 12, unit: 'binary' }),
      fc.constantFrom('\t', '[', '{', '"', '&a ', '*a', '!!x', '- ', '? ', '---\n', '<<: ', '1e999', 'box:\n', ': '),
    ),
  })
  .map(({ from, length, inserted }) => EXAMPLE_SETUP.slice(0, from) + inserted + EXAMPLE_SETUP.slice(from + length));

/** True when the text was read; false when it was refused as it should be. */
function readOrRefused(text: string): boolean {
  try {
    readSetup(text, 'gate.yaml');
    return true;
  } catch (error) {
    if (!(error instanceof StandoffError)) throw error;
    expect(error.message).not.toContain('\n');
    return false;
  }
}

describe('a setup that is written', () => {
  it('reads back equal', () => {
    fc.assert(
      fc.property(setups, (setup) => {
        expect(readSetup(writeSetup(setup), 'gate.yaml')).toEqual(setup);
      }),
    );
  });

  it('reads back equal from the box section alone', () => {
    fc.assert(
      fc.property(setups, ({ box }) => {
        expect(readSetup(writeBox(box), 'gate.yaml').box).toEqual(box);
      }),
      { numRuns: 30 },
    );
  });

  it('says so when nothing differs from the defaults', () => {
    expect(writeSetup(defaultSetup())).toContain('nothing differs');
  });

  it('reads back equal from a stored run, with program, seed and operator', () => {
    const scenarios = fc.record(
      {
        seed: fc.nat(0xffff_ffff),
        setup: setups,
        program: fc.record({ name: fc.string({ minLength: 1, maxLength: 20 }), text: programText }),
        operator: events,
      },
      { requiredKeys: ['seed', 'setup', 'program'] },
    );
    fc.assert(
      fc.property(scenarios, (scenario) => {
        expect(readScenario(writeScenario(scenario), 'run.yaml')).toEqual(scenario);
      }),
      { numRuns: 60 },
    );
  });

  it.each([' \n', '\n \n', '  ', '\n\n'])('reads back a program of blanks alone: %j', (text) => {
    const scenario = { seed: 1, setup: defaultSetup(), program: { name: 'blank.nc', text } };
    expect(readScenario(writeScenario(scenario), 'run.yaml')).toEqual(scenario);
  });
});

describe('a damaged setup', () => {
  it('is read or refused in one line, whatever bytes it holds', () => {
    fc.assert(fc.property(fc.string({ unit: 'binary', maxLength: 200 }), (text) => void readOrRefused(text)));
  });

  it('is read or refused in one line, whatever was done to the example', () => {
    let read = 0;
    fc.assert(
      fc.property(damaged, (text) => {
        if (readOrRefused(text)) read++;
      }),
      { numRuns: 500 },
    );
    // Most damage hits a comment or a number; a reader that refuses everything would pass without this.
    expect(read).toBeGreaterThan(20);
    expect(read).toBeLessThan(480);
  });
});

describe('the example setup', () => {
  it('states the supply, the divider and a sheet that leans, waves and grows', () => {
    const { machine, world } = exampleSetup();
    expect(machine.supply.cut_A).toBe(40);
    expect(machine.divider.ratio).toBe(120);
    expect(machine.table.sheet_thickness_mm).toBe(3);
    expect(world.sheet.tilt_x).toBeGreaterThan(0);
    expect(world.sheet.wave_mm).toBeGreaterThan(0);
    expect(world.sheet.heat_growth_mm_per_s).toBeGreaterThan(0);
  });

  it('states nothing but defaults: the figures of the example are those of the default gains', () => {
    expect(exampleSetup()).toEqual(defaultSetup());
  });

  it('calls itself invented', () => {
    expect(EXAMPLE_SETUP).toContain('invented');
  });

  it('takes an assignment for every quantity, at both ends of its range', () => {
    for (const row of SECTION_NAMES.flatMap((name) => SECTION_ROWS[name])) {
      if (row.kind === 'boolean') {
        expect(() => assignValues(exampleSetup(), [`${row.path}=true`])).not.toThrow();
        continue;
      }
      for (const value of [row.min, row.max]) {
        try {
          assignValues(exampleSetup(), [`${row.path}=${value}`]);
        } catch (error) {
          expect((error as StandoffError).code, row.path).toBe(REFUSED_AS[row.path] ?? 'setup-contradiction');
        }
      }
    }
  });
});
