/** The desk state of the box on the PC's board: what it lets a host do, and that no output moves in it, in random episodes. */
import { spawnSync } from 'node:child_process';
import { readFileSync } from 'node:fs';
import { expect, it } from 'vitest';
import { MODE_ROWS } from '../../firmware/wire/code-rows.js';
import { PARAMETER_READING_ZERO_COUNTS } from '../../firmware/wire/codes.gen.js';
import * as wire from '../../firmware/wire/layout.gen.js';
import { BOOT_ROWS } from '../../firmware/wire/link-rows.js';
import { describeAgainst } from '../reference/support.js';
import { amount, someOf } from '../support/volume.js';
import { buildBox, type Patch } from './box-native.js';
import { BoxScript } from './box-script.js';
import { EPISODE_REQUIREMENTS } from './desk-requirements.js';
import { GCC } from './loader-native.js';

const FAULT_MODE = MODE_ROWS.findIndex(({ name }) => name === 'fault');
const QUIET = wire.INPUT_STOP_CHAIN | wire.INPUT_BREAKAWAY | wire.INPUT_TOP;
const boot = (name: string): number => BOOT_ROWS.findIndex((row) => row.name === name);
/** A value for the arc tap's zero that no default has. */
const ZERO = { id: PARAMETER_READING_ZERO_COUNTS, spare: 0, value: 600 };

/** A board on a desk: nothing at its pins, so its converter reads anything. */
function bare(readings = 500, reference = 700): BoxScript {
  const script = new BoxScript().say('digital_inputs 0').say(`readings ${readings}`).say(`reference ${reference}`);
  for (let done = 0; done < 1500; done += 500) script.run(500);
  return script;
}

/** Stages and commits. @returns numbers of both reports */
const set = (script: BoxScript, value = ZERO): [number, number] => [
  script.ask('parameters-stage', {}, [value]),
  script.ask('parameters-commit', {}, [], 100),
];

const PORT = 'firmware/ports/host/port.c';
const DESK = 'firmware/box/desk.c';
const FILTER = '(host.digital_outputs | digital_outputs) & OUTPUT_LATCHED_STOP;';
const patch = (file: string, find: string, replace: string): Patch => ({ file, find, replace });

type Defect = readonly [what: string, requirement: string, ...planted: Patch[]];
/** What is wrong, the requirement that it breaks first, and how it is planted. */
const DEFECTS: readonly Defect[] = [
  [
    'the outputs are the module’s again now and then',
    'desk-outputs',
    patch(
      PORT,
      'if (host.desk) digital_outputs = (host',
      'if (host.desk && host.ticks % 64u != 0) digital_outputs = (host',
    ),
  ],
  [
    'the port lets the trigger through',
    'desk-outputs',
    patch(
      PORT,
      FILTER,
      '((host.digital_outputs & OUTPUT_LATCHED_STOP) | digital_outputs) & (OUTPUT_LATCHED_STOP | OUTPUT_TRIGGER);',
    ),
    patch(PORT, ' && !host.desk;', ';'),
  ],
  [
    'Z steps go on',
    'desk-outputs',
    patch(
      PORT,
      'if ((digital_outputs & OUTPUT_Z_OWNED) != 0) host',
      'if (host.desk || (digital_outputs & OUTPUT_Z_OWNED) != 0) host',
    ),
  ],
  [
    'the latched stop follows the module',
    'desk-latched-stop',
    patch(PORT, FILTER, 'digital_outputs & OUTPUT_LATCHED_STOP;'),
  ],
  [
    'entry drops the latched stop',
    'desk-latched-stop',
    patch(PORT, 'host.digital_outputs &= OUTPUT_LATCHED_STOP;', 'host.digital_outputs = 0;'),
  ],
  [
    'a repeated desk-begin drops the latched stop',
    'desk-latched-stop',
    patch(DESK, 'if (port_at_desk()) return status_key_on() ? STATUS_KEY : STATUS_DONE;', ''),
    patch(
      PORT,
      'host.digital_outputs &= OUTPUT_LATCHED_STOP;',
      'static uint32_t begun_at;\n  if (host.ticks - begun_at < 300u) host.digital_outputs = 0;\n  begun_at = host.ticks;',
    ),
  ],
  [
    'it begins with the key on',
    'desk-entry',
    patch(DESK, 'if (status_key_on()) return STATUS_KEY;\n  if (lock', 'if (lock'),
  ],
  [
    'it begins in a cut',
    'desk-entry',
    patch(DESK, 'if ((box_status.digital_outputs & ~OUTPUT_LATCHED_STOP) != 0) return STATUS_BUSY;', ''),
    patch(DESK, '!= 0 && stands', '!= 0 && (stands || true)'),
  ],
  [
    'it ends by itself',
    'desk-end',
    patch(PORT, '{ return host.desk; }', '{ return host.desk = host.desk && host.ticks % 97u != 0; }'),
  ],
  [
    'a commit is in use at once',
    'desk-parameters',
    patch('firmware/box/parameters.c', 'port_at_desk() ? keep', 'port_at_desk() && staged_count == 0 ? keep'),
  ],
  [
    'a restart does not ask for the key',
    'desk-end',
    patch(
      'firmware/box/status.c',
      'if (status_key_on()) return STATUS_KEY;\n  if (port_at_desk()) return STATUS_DONE;',
      'if (port_at_desk()) return STATUS_DONE;\n  if (status_key_on()) return STATUS_KEY;',
    ),
  ],
  ['the box restarts from the pins', 'desk-end', patch(DESK, 'if (!port_at_desk()) return STATUS_NOT_BEGUN;\n', '')],
  [
    'a restart resets the latched stop',
    'restart-latched-stop',
    patch('firmware/box/kept.c', 'stopped.fault_at_restart = here->fault;', ''),
  ],
  [
    'only a box that went down by itself keeps its latched stop',
    'restart-latched-stop',
    patch(
      'firmware/box/kept.c',
      'stopped.fault_at_restart = here->fault;',
      'stopped.fault_at_restart = stopped.fault;',
    ),
  ],
  [
    'the latched stop comes a while after the restart',
    'restart-latched-stop',
    patch(PORT, 'if (host.rests) return 0;', 'if (host.rests || host.ticks % 512u < 20u) return 0;'),
  ],
];

it('the requirements over episodes are a table in DEVELOPERS.md, and each has a planted defect that breaks it', () => {
  const page = readFileSync(new URL('../../DEVELOPERS.md', import.meta.url), 'utf8');
  const rows = /\n## Requirements over episodes\n(.*?)\n## /s
    .exec(page)![1]
    .split('\n')
    .filter((line) => line.startsWith('|'))
    .slice(2);
  expect(rows).toEqual(
    EPISODE_REQUIREMENTS.map(
      ({ number, name, statement, unit }) => `| ${number} | \`${name}\` | ${statement} | ${unit} | \`box-desk\` |`,
    ),
  );
  const broken = new Set(DEFECTS.map(([, requirement]) => requirement));
  expect(EPISODE_REQUIREMENTS.filter(({ name }) => !broken.has(name))).toEqual([]);
});

describeAgainst(GCC, 'the desk state', (gcc) => {
  const program = buildBox(gcc);
  const episodes = () => buildBox(gcc, { program: 'desk-episodes' });

  it('moves no output but to set the latched stop, keeps the parameters at the pins, and ends by a restart alone', () => {
    const count = amount(100_000, 1500, 3000);
    const played = spawnSync(episodes(), ['1', String(count)]);
    expect(played.stderr.toString()).toBe('');
    expect(played.status).toBe(0);
    const found = JSON.parse(played.stdout.toString());
    expect(found.margins).toEqual(Object.fromEntries(EPISODE_REQUIREMENTS.map(({ name }) => [name, 0])));
    // The episodes are about something: most come from a fault, some bring a latched stop, in some it is set there.
    expect(found.entered).toBeGreaterThan(0.7 * count);
    expect(found.from_fault).toBeGreaterThan(0.1 * count);
    for (const [name, least] of Object.entries({
      stops_kept: 0.05,
      stops_set: 0.01,
      key_turned: 0.3,
      left: 0.5,
      fired: 0.05,
      crashed: 0.05,
      stops_after: 0.2,
      stops_reset: 0.05,
    }))
      expect(found[name], name).toBeGreaterThan(least * count);
  });

  it.each(DEFECTS.map(([what, ...rest]) => [what, rest] as const))(
    'has episodes that find it when %s',
    (_, [requirement, ...patches]) => {
      const spoilt = buildBox(gcc, { program: 'desk-episodes', flags: [], patches });
      const played = spawnSync(spoilt, ['1', '1500']);
      expect(JSON.parse(played.stdout.toString()).margins[requirement]).toBeLessThan(0);
      expect(played.stderr.toString()).toContain(`${requirement}: `);
      expect(played.status).toBe(1);
    },
  );

  it('is the way out for a board without wires, which is refused everything for the fault that it stands in', () => {
    const script = bare();
    const before = [...set(script), script.ask('lockstep-begin'), script.ask('loader-enter'), script.ask('restart')];
    const state = script.ask('state');
    const begun = script.ask('desk-begin');
    const [staged, committed] = set(script);
    const lockstep = script.ask('lockstep-begin');
    const ticks = script.ask('lockstep-ticks', { first: 0 }, [{ block: new Uint8Array(wire.INPUT_BYTES) }]);
    script.ask('lockstep-end');
    const read = script.ask('parameters-read', { first: ZERO.id, count: 1 });
    const after = script.ask('state');
    const leaves = script.ask('restart', {}, [], 30);
    // What it says before it starts again is the report of this run.
    script.run(200);
    const used = script.ask('parameters-read', { first: ZERO.id, count: 1 });
    const identity = script.ask('identity');
    const reports = script.play(program);
    const status = (index: number) => reports[index].answers[0].status;
    expect(before.map(status)).toEqual(['busy', 'busy', 'busy', 'busy', 'not-begun']);
    expect(reports[state].answers[0].values).toMatchObject({ mode: FAULT_MODE, desk: 0 });
    expect(reports[state].answers[0].values.fault).not.toBe(0);
    expect([begun, staged, committed, lockstep, ticks, leaves].map(status)).toEqual(Array(6).fill('done'));
    expect(reports[after].answers[0].values).toMatchObject({ mode: FAULT_MODE, desk: 1 });
    // What is read back is what the restart brings into use.
    expect(reports[read].answers[0].records[0].value).toBe(ZERO.value);
    expect(reports[used].cause).toBe(boot('restart'));
    expect(reports[used].answers[0].records[0].value).toBe(ZERO.value);
    expect(reports[identity].answers[0].values).toMatchObject({ parameter_generation: 1, boot: boot('restart') });
  });

  it('keeps what was committed before in the same desk state', () => {
    const script = bare();
    script.ask('desk-begin');
    set(script);
    set(script, { id: 3, spare: 0, value: 30 });
    const read = script.ask('parameters-read', { first: 0, count: 5 });
    const values = script.play(program)[read].answers[0].records.map(({ value }) => value);
    expect([values[ZERO.id], values[3]]).toEqual([ZERO.value, 30]);
  });

  it('refuses everything for the key alone', () => {
    const script = bare();
    script.ask('desk-begin');
    script.say(`digital_inputs ${wire.INPUT_KEY}`).run(3);
    const asked = [
      ...['desk-begin', 'lockstep-begin', 'loader-enter', 'restart'].map((name) => script.ask(name)),
      ...set(script),
    ];
    const reports = script.play(program);
    expect(asked.map((index) => reports[index].answers[0].status)).toEqual(Array(6).fill('key'));
  });

  it('is refused in lockstep', () => {
    const script = new BoxScript().say(`digital_inputs ${QUIET}`);
    script.run(100);
    script.ask('lockstep-begin');
    const lockstep = script.ask('desk-begin');
    const reports = script.play(program);
    expect(reports[lockstep].answers[0].status).toBe('lockstep');
  });

  it('flashes the lamp twice and again', () => {
    const script = bare();
    script.ask('desk-begin');
    const lit = Array.from({ length: 32 }, () => script.run(32));
    const reports = script.play(program);
    const text = lit.map((index) => reports[index].lamp).join('');
    // A period of 512 ms: two flashes of 64 ms, and a pause.
    expect(`${text}${text}`).toMatch(/110011000{8}/);
  });

  it('lets a board be set and compared whatever its converter reads: zeros 0 to 1000, references 0 to 4095', () => {
    const zeros = someOf(
      Array.from({ length: 41 }, (_, i) => 25 * i),
      8,
      4,
    );
    const references = someOf([0, 300, 700, 1500, 2048, 3000, 4095], 3);
    for (const zero of zeros) {
      for (const reference of references) {
        const script = bare(zero, reference);
        const asked = [script.ask('desk-begin'), ...set(script), script.ask('lockstep-begin')];
        const too_soon = script.ask('restart');
        asked.push(script.ask('lockstep-end'), script.ask('restart'));
        const reports = script.play(program);
        const what = `zero ${zero}, reference ${reference}`;
        expect(
          asked.map((index) => reports[index].answers[0].status),
          what,
        ).toEqual(Array(asked.length).fill('done'));
        expect(reports[too_soon].answers[0].status, what).toBe('lockstep');
        for (const index of asked.slice(1)) expect(reports[index].digital_outputs & ~wire.OUTPUT_LATCHED_STOP).toBe(0);
      }
    }
  });
});
