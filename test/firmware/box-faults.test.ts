/** The box on the PC's board when something goes wrong: outputs at rest, the cause kept and told after the restart. */
import { mkdtempSync, readFileSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import binaryen from 'assemblyscript/binaryen';
import { expect, it } from 'vitest';
import { FAULT_OVERRUN, FAULT_RELAY_CLOSED, FAULT_VOLTAGE_AT_REST, MODE_FAULT } from '../../firmware/wire/codes.gen.js';
import {
  INPUT_BREAKAWAY,
  INPUT_OVERRUN,
  INPUT_RESET,
  INPUT_STOP_CHAIN,
  INPUT_TOP,
  OUTPUT_LATCHED_STOP,
  OUTPUT_PERMIT,
} from '../../firmware/wire/layout.gen.js';
import { BOOT_ROWS, EVENT_ROWS } from '../../firmware/wire/link-rows.js';
import { describeAgainst } from '../reference/support.js';
import { buildBox, CONTROL_WASM } from './box-native.js';
import { type BoxReport, BoxScript } from './box-script.js';
import { GCC } from './loader-native.js';

const QUIET = INPUT_STOP_CHAIN | INPUT_BREAKAWAY | INPUT_TOP;
/** A line that no box has: in the module built for this test it makes the tick read far beyond its memory. */
const LINE_PLANTED = 1 << 20;
const TRAP_OUT_OF_BOUNDS = 1;

const boot = (name: string): number => BOOT_ROWS.find((row) => row.name === name)!.code;
interface BoxEvent {
  readonly tick: number;
  readonly start: number;
  readonly kind: string;
  readonly detail: number;
  readonly value: number;
}
const eventsIn = (report: BoxReport | undefined): BoxEvent[] =>
  report!.answers.flatMap(({ records }) =>
    records.map((record) => ({ ...(record as unknown as BoxEvent), kind: EVENT_ROWS[record.kind as number].name })),
  );
const quiet = (): BoxScript => {
  const script = new BoxScript().say(`digital_inputs ${QUIET}`);
  script.run(40);
  return script;
};
const events = (script: BoxScript, first = 0): number => script.ask('events-read', { first, count: 100 });

/** The control module with an access beyond its memory at the beginning of its tick. */
function plantedModule(): string {
  const module = binaryen.readBinary(readFileSync(CONTROL_WASM));
  const text = module.emitText();
  module.dispose();
  const tick = /\(export "tick" \(func (\S+)\)\)/.exec(text)![1];
  const input = /\(export "input" \(func (\S+)\)\)/.exec(text)![1];
  const start = text.search(new RegExp(`\\(func \\${tick}[ \\n]`));
  // Behind the parameters' and locals' declarations.
  const rest = text.slice(start);
  const body = start + rest.search(/\n {2}\((?!local )/);
  const planted = `
  (if (i32.and (i32.load offset=20 (call ${input})) (i32.const ${LINE_PLANTED}))
    (then (drop (i32.load (i32.add (call ${input}) (i32.const 60000))))))`;
  const changed = binaryen.parseText(`${text.slice(0, body)}${planted}${text.slice(body)}`);
  const file = join(mkdtempSync(join(tmpdir(), 'standoff-planted-')), 'control.wasm');
  writeFileSync(file, changed.emitBinary());
  changed.dispose();
  return file;
}

describeAgainst(GCC, 'the box when something goes wrong', (gcc) => {
  const program = buildBox(gcc);

  it('restarts at an access of the module beyond its memory, and says so', () => {
    const script = quiet();
    script.say(`digital_inputs ${QUIET | LINE_PLANTED}`).say('run 5');
    const trapped = script.expectReport();
    script.say(`digital_inputs ${QUIET}`);
    const after = script.run(5);
    const identity = script.ask('identity');
    const read = events(script);
    const reports = script.play(buildBox(gcc, { wasm: plantedModule() }));
    expect(reports[trapped]).toMatchObject({ rests: 1, digital_outputs: 0, lamp: 0 });
    expect(reports[after].cause).toBe(boot('trap'));
    expect(reports[identity].answers[0].values.boot).toBe(boot('trap'));
    expect(eventsIn(reports[read])).toContainEqual({
      ...{ kind: 'trap', detail: TRAP_OUT_OF_BOUNDS, value: 41, tick: 41, start: 1 },
    });
    expect(eventsIn(reports[read])).toContainEqual({
      kind: 'start',
      detail: boot('trap'),
      value: 0,
      tick: 0,
      start: 2,
    });
  });

  it('restarts when the stack’s end is overwritten', () => {
    const script = quiet();
    script.say('stack').say('run 5');
    const broken = script.expectReport();
    script.run(5);
    const read = events(script);
    const reports = script.play(program);
    expect(reports[broken].rests).toBe(1);
    const kinds = eventsIn(reports[read]).filter(({ start }) => start === 2);
    expect(kinds.slice(0, 2).map(({ kind, detail }) => [kind, detail])).toEqual([
      ['start', boot('stack')],
      ['stack', 0],
    ]);
  });

  it('tells after a restart by the watchdog in which mode and tick it hung', () => {
    const script = quiet();
    script.say(`digital_inputs ${QUIET | INPUT_OVERRUN}`);
    script.run(10);
    script.restart(boot('hung'));
    script.run(5);
    const read = events(script);
    const identity = script.ask('identity');
    const reports = script.play(program);
    expect(eventsIn(reports[read])).toContainEqual({ kind: 'hung', detail: MODE_FAULT, value: 50, tick: 0, start: 2 });
    expect(reports[identity].answers[0].values.fault_before).toBe(FAULT_OVERRUN);
  });

  it('keeps events through a restart and clears them when the power was off', () => {
    const script = quiet();
    const before = events(script);
    script.restart(boot('restart'));
    script.run(2);
    const kept = events(script);
    script.restart(boot('power-up'));
    script.run(2);
    const cleared = events(script);
    const reports = script.play(program);
    const old = eventsIn(reports[before]);
    expect(old.length).toBeGreaterThan(1);
    expect(eventsIn(reports[kept]).slice(0, old.length)).toEqual(old);
    const { records } = reports[cleared].answers[0];
    expect(records).toHaveLength(2);
    expect(records.map(({ start }) => start)).toEqual([1, 1]);
  });

  it('reads events on from any number: one that is gone becomes the oldest, one to come gives none', () => {
    const script = quiet();
    for (let i = 0; i < 400; i++) {
      script.say(`digital_inputs ${i % 2 === 0 ? QUIET : QUIET & ~INPUT_TOP}`);
      script.run(21);
    }
    const oldest = events(script);
    const beyond = events(script, 1e6);
    const reports = script.play(program);
    const { values } = reports[oldest].answers[0];
    expect((values.next as number) - (values.first as number)).toBe(256);
    expect(reports[beyond].answers[0]).toMatchObject({ records: [], values: { first: values.next } });
  });

  it('raises a fault when the converter’s reference is off, whatever its readings are', () => {
    const script = quiet();
    script.say('reference 1900');
    script.run(3000);
    const read = events(script);
    script.say('reference 2048');
    script.run(100);
    const reports = script.play(program);
    expect(eventsIn(reports[read])).toContainEqual(
      expect.objectContaining({ kind: 'converter', detail: 1900, tick: 45 }),
    );
    expect(eventsIn(reports[read])).toContainEqual(
      expect.objectContaining({ kind: 'fault', detail: FAULT_VOLTAGE_AT_REST }),
    );
  });

  it('lets one wrong reference reading pass', () => {
    const script = quiet();
    for (let i = 0; i < 20; i++) {
      script.say('reference 0');
      script.run(3);
      script.say('reference 2048');
      script.run(4);
    }
    const read = events(script);
    expect(eventsIn(script.play(program)[read]).map(({ kind }) => kind)).not.toContain('converter');
  });

  it('sets the latched stop when the firing contact stays closed, until a reset with the contact open', () => {
    const script = quiet();
    script.say('relay 1');
    const early = script.run(199);
    const stopped = script.run(2);
    script.say(`digital_inputs ${QUIET | INPUT_RESET}`);
    const held = script.run(10);
    script.say('relay 0').say(`digital_inputs ${QUIET}`);
    script.run(10);
    script.say(`digital_inputs ${QUIET | INPUT_RESET}`);
    const free = script.run(10);
    const read = events(script);
    const reports = script.play(program);
    expect(reports[early].digital_outputs & OUTPUT_LATCHED_STOP).toBe(0);
    for (const index of [stopped, held]) {
      expect(reports[index].digital_outputs & OUTPUT_LATCHED_STOP).toBe(OUTPUT_LATCHED_STOP);
      expect(reports[index].digital_outputs & OUTPUT_PERMIT).toBe(0);
    }
    expect(reports[free].digital_outputs & OUTPUT_LATCHED_STOP).toBe(0);
    const faults = eventsIn(reports[read]).filter(({ kind }) => kind === 'fault');
    expect(faults.map(({ detail, tick }) => [detail, tick])).toEqual([[FAULT_RELAY_CLOSED, 240]]);
  });

  it('keeps the last seconds before a fault, also through the restart that follows', () => {
    const script = quiet();
    script.run(300);
    script.say(`digital_inputs ${QUIET | INPUT_OVERRUN}`);
    script.run(500);
    script.restart(boot('hung'));
    script.run(500);
    const read = script.ask('history-read', { first: 0, count: 1000 });
    const last = script.ask('history-read', { first: 30, count: 1000 });
    const reports = script.play(program);
    const { values, records } = reports[last].answers[0];
    // One each ten ticks, and the fault itself, which is in no tick that is a multiple of ten.
    expect(values.next).toBe(35);
    expect(reports[read].answers[0].records.map(({ tick }) => tick)).toEqual(
      Array.from({ length: 13 }, (_, i) => 10 * (i + 1)),
    );
    expect(records.at(-1)).toMatchObject({ tick: 341, fault: FAULT_OVERRUN, mode: MODE_FAULT });
  });

  it.each([
    ['stays as it was after a restart by itself', 'hung', 30],
    ['goes on after a restart that was asked for', 'restart', 80],
  ])('history %s (%s)', (_, cause, next) => {
    const script = new BoxScript().say(`digital_inputs ${QUIET}`);
    script.run(300);
    script.restart(boot(cause));
    script.run(500);
    const read = script.ask('history-read', { first: 0, count: 1 });
    expect(script.play(program)[read].answers[0].values.next).toBe(next);
  });
});

describeAgainst(GCC, 'the latched stop of a box that is wired', (gcc) => {
  const program = buildBox(gcc);
  /** Its firing contact is closed for 300 ms with the trigger off, then open again. */
  const stopped = (): BoxScript => {
    const script = quiet().say('relay 1');
    script.run(300);
    script.say('relay 0').run(100);
    return script;
  };
  /** Reports of every millisecond after the start. */
  const each = (script: BoxScript, ms: number): number[] => Array.from({ length: ms }, () => script.run(1));
  const RESTARTS = BOOT_ROWS.filter(({ name }) => name !== 'power-up');

  it.each(RESTARTS.map(({ name, code }) => [name, code] as const))(
    'is set again in the first tick after a restart (%s), once more after another, and ends by the reset button',
    (_, cause) => {
      const script = stopped();
      const before = script.ask('state');
      script.restart(cause);
      const after = each(script, 20);
      script.restart(cause);
      const again = [...each(script, 20), script.run(3000)];
      const state = script.ask('state');
      script.say(`digital_inputs ${QUIET}`).run(10);
      script.say(`digital_inputs ${QUIET | INPUT_RESET}`).run(3);
      const reset = script.ask('state');
      script.restart(cause);
      const free = each(script, 20);
      const read = events(script);
      const reports = script.play(program);
      const stands = { fault: FAULT_RELAY_CLOSED, mode: MODE_FAULT, digital_outputs: OUTPUT_LATCHED_STOP };
      expect(reports[before].answers[0].values).toMatchObject(stands);
      for (const index of [...after, ...again]) expect(reports[index].digital_outputs).toBe(OUTPUT_LATCHED_STOP);
      expect(reports[state].answers[0].values).toMatchObject(stands);
      expect(reports[reset].answers[0].values).toMatchObject({ fault: 0, digital_outputs: 0 });
      for (const index of free) expect(reports[index].digital_outputs).toBe(0);
      // It is no new fault.
      expect(eventsIn(reports[read]).filter(({ kind }) => kind === 'fault')).toHaveLength(1);
    },
  );

  it('is no longer set once the power was off', () => {
    const script = stopped();
    script.restart(boot('power-up'));
    const after = script.run(20);
    expect(script.play(program)[after].digital_outputs).toBe(0);
  });

  it('is set again by a box whose parameters come from flash, and by one that leaves the desk state', () => {
    const script = quiet();
    script.ask('parameters-stage', {}, [{ id: 1, spare: 0, value: 200 }]);
    script.ask('parameters-commit', {}, [], 100);
    script.say('relay 1').run(300);
    script.say('relay 0').run(100);
    script.ask('desk-begin');
    script.ask('restart', {}, [], 20);
    // What it says before it starts again is the report of this run.
    script.run(100);
    script.run(5);
    const state = script.ask('state');
    const value = script.ask('parameters-read', { first: 1, count: 1 });
    const reports = script.play(program);
    expect(reports[state].answers[0].values).toMatchObject({ desk: 0, digital_outputs: OUTPUT_LATCHED_STOP });
    expect(reports[value].answers[0].records[0].value).toBe(200);
  });

  it.each([
    ['is not handed over', 'firmware/box/kept.c', 'stopped.fault_at_restart = here->fault;', ''],
    [
      'is handed over before the parameters',
      'firmware/box/main.c',
      '  parameters_start();\n  module_restart(MODULE_AT_PINS, stopped.fault_at_restart);',
      '  module_restart(MODULE_AT_PINS, stopped.fault_at_restart);\n  parameters_start();',
    ],
    [
      'only of a box that stopped by itself',
      'firmware/box/kept.c',
      'stopped.fault_at_restart = here->fault;',
      'stopped.fault_at_restart = stopped.fault;',
    ],
  ])('a fault that %s is seen here', (_, file, find, replace) => {
    const script = quiet();
    script.ask('parameters-stage', {}, [{ id: 1, spare: 0, value: 200 }]);
    script.ask('parameters-commit', {}, [], 100);
    script.say('relay 1').run(300);
    script.say('relay 0').run(100);
    script.restart(boot('restart'));
    const after = script.run(20);
    const spoilt = buildBox(gcc, { patches: [{ file, find, replace }] });
    expect(script.play(spoilt)[after].digital_outputs).toBe(0);
    expect(script.play(program)[after].digital_outputs).toBe(OUTPUT_LATCHED_STOP);
  });
});
