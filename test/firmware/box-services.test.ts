/** The box on the PC's board, under sanitizers: what it answers over the link, and when it refuses. */
import { describe, expect, it } from 'vitest';
import {
  PARAMETER_ARC_HIGH_V,
  PARAMETER_COUNT,
  PARAMETER_TARGET_V,
  PARAMETER_TRIM_V,
} from '../../firmware/wire/codes.gen.js';
import {
  INPUT_BREAKAWAY,
  INPUT_KEY,
  INPUT_OVERRUN,
  INPUT_STOP_CHAIN,
  INPUT_TOP,
  READINGS_PER_TICK,
} from '../../firmware/wire/layout.gen.js';
import { ANSWER, SERVICE_ROWS } from '../../firmware/wire/link-rows.js';
import { PARAMETER_ROWS } from '../../firmware/wire/parameter-rows.js';
import { encodeFrame } from '../../sim/link/index.js';
import { describeAgainst } from '../reference/support.js';
import { buildBox } from './box-native.js';
import { type BoxAnswer, type BoxReport, BoxScript } from './box-script.js';
import { requestLine } from './line.js';
import { GCC } from './loader-native.js';

const QUIET = INPUT_STOP_CHAIN | INPUT_BREAKAWAY | INPUT_TOP;
const ID_GAIN_P = PARAMETER_ROWS.find(({ name }) => name === 'gain_p_per_s')!.id;
const NOBODY = 65535;

/** The one answer in a report. */
const answer = (report: BoxReport | undefined): BoxAnswer => {
  expect(report?.answers).toHaveLength(1);
  return report!.answers[0];
};
const quiet = (): BoxScript => {
  const script = new BoxScript().say(`digital_inputs ${QUIET}`);
  script.run(20);
  return script;
};

describeAgainst(GCC, 'the box over its link', (gcc) => {
  const program = buildBox(gcc);
  const value = (id: number, number: number) => ({ id, spare: 0, value: number });

  it('says what it is and which start this is', () => {
    const script = quiet();
    const asked = script.ask('identity');
    const { status, values } = answer(script.play(program)[asked]);
    expect(status).toBe('done');
    expect(values).toMatchObject({
      protocol: 3,
      in_loader: 0,
      boot: 0,
      parameter_count: PARAMETER_COUNT,
      capacity: 81,
    });
    expect(values).toMatchObject({ parameter_generation: 0, version: '0.0.0', tick: 20 });
    expect([...(values.module_sha256 as Uint8Array)]).toEqual(Array.from({ length: 32 }, (_, i) => i));
  });

  it('refuses a service that it does not have and a request of the wrong length', () => {
    const script = quiet();
    const asked = SERVICE_ROWS.map(({ name }) => {
      script.bytes(requestLine(name, Buffer.alloc(13)));
      return script.run(3);
    });
    const reports = script.play(program);
    for (const [index, { name, by }] of SERVICE_ROWS.entries()) {
      // The box has no stream that one could ask for.
      const theirs = by === 'loader' || name === 'telemetry-row';
      expect(answer(reports[asked[index]]).status, name).toBe(theirs ? 'unknown' : refusedLength(name));
    }
    // lockstep-ticks of 13 bytes is refused before its length is looked at: nothing was begun.
    function refusedLength(name: string): string {
      return name === 'lockstep-ticks' ? 'not-begun' : 'length';
    }
  });

  it('does not answer answers', () => {
    const script = quiet();
    const ping = { service: 2, status: 0, sequence: 9, payload: new Uint8Array() };
    script.bytes(Buffer.from(encodeFrame({ ...ping, service: ping.service | ANSWER })));
    const silent = script.run(3);
    script.bytes(Buffer.from(encodeFrame(ping)));
    const answered = script.run(3);
    const reports = script.play(program);
    expect(reports[silent].answers).toEqual([]);
    expect(answer(reports[answered])).toMatchObject({ service: 'ping', status: 'done', sequence: 9 });
  });

  it('reads all parameters at their defaults', () => {
    const script = quiet();
    const asked = [0, 40].map((first) => script.ask('parameters-read', { first, count: 1000 }));
    const beyond = script.ask('parameters-read', { first: 5000, count: 1 });
    const reports = script.play(program);
    const records = asked.flatMap((index) => answer(reports[index]).records);
    expect(records).toEqual(PARAMETER_ROWS.map((row) => value(row.id, Math.fround(row.default))));
    expect(answer(reports[beyond])).toMatchObject({ status: 'done', records: [] });
  });

  it('takes values put aside into use all at once, and keeps them through power-off', () => {
    const script = quiet();
    const read = () => script.ask('parameters-read', { first: ID_GAIN_P, count: 1 });
    const staged = script.ask('parameters-stage', {}, [value(ID_GAIN_P, 3.5)]);
    const unchanged = read();
    const checked = script.ask('parameters-check');
    const committed = script.ask('parameters-commit', {}, [], 200);
    const changed = read();
    script.restart(0);
    script.run(20);
    const kept = read();
    const after = script.ask('identity');
    const reports = script.play(program);
    expect(answer(reports[staged]).values).toEqual({ count: 1, id: NOBODY, generation: 0, other: NOBODY, spare: 0 });
    expect(answer(reports[unchanged]).records[0].value).toBe(Math.fround(PARAMETER_ROWS[ID_GAIN_P].default));
    expect(answer(reports[checked])).toMatchObject({ status: 'done', values: { count: 1 } });
    expect(answer(reports[committed])).toMatchObject({ status: 'done', values: { count: 0, generation: 1 } });
    expect(answer(reports[changed]).records[0].value).toBe(3.5);
    expect(answer(reports[kept]).records[0].value).toBe(3.5);
    expect(answer(reports[after]).values.parameter_generation).toBe(1);
    expect(reports[committed].flash_operations).toBe(3);
  });

  it('answers a commit that comes twice without writing twice', () => {
    const script = quiet();
    script.ask('parameters-stage', {}, [value(ID_GAIN_P, 3)]);
    const first = script.ask('parameters-commit', {}, [], 200);
    const second = script.again(200);
    const other = script.ask('parameters-commit');
    const reports = script.play(program);
    expect(answer(reports[second])).toEqual(answer(reports[first]));
    expect(reports[second].flash_operations).toBe(3);
    expect(answer(reports[other]).status).toBe('nothing-staged');
  });

  it.each([
    ['range', 'above its range', value(ID_GAIN_P, 1e6)],
    ['range', 'NaN', value(ID_GAIN_P, Number.NaN)],
    ['id', 'of no parameter', value(PARAMETER_COUNT, 1)],
  ])('refuses with %s a value %s, and puts none of the others aside', (status, _, wrong) => {
    const script = quiet();
    const asked = script.ask('parameters-stage', {}, [value(ID_GAIN_P, 2), wrong]);
    const reports = script.play(program);
    expect(answer(reports[asked])).toMatchObject({ status, values: { count: 0, id: wrong.id } });
  });

  it('refuses parameters that contradict each other, and forgets them', () => {
    const script = quiet();
    script.ask('parameters-stage', {}, [value(PARAMETER_TARGET_V, 200), value(PARAMETER_ARC_HIGH_V, 150)]);
    const checked = script.ask('parameters-check', {}, [], 10);
    const committed = script.ask('parameters-commit', {}, [], 10);
    const after = script.ask('parameters-check');
    const reports = script.play(program);
    expect(answer(reports[checked])).toMatchObject({
      status: 'contradiction',
      values: { id: PARAMETER_TARGET_V, other: PARAMETER_ARC_HIGH_V },
    });
    expect(answer(reports[committed])).toMatchObject({ status: 'contradiction', values: { count: 0, generation: 0 } });
    expect(answer(reports[after]).status).toBe('nothing-staged');
    expect(reports[after].flash_operations).toBe(0);
  });

  it('forgets what was put aside when told so, and when the host is gone', () => {
    const script = quiet();
    script.ask('parameters-stage', {}, [value(ID_GAIN_P, 2)]);
    const told = script.ask('parameters-stage');
    script.ask('parameters-stage', {}, [value(ID_GAIN_P, 2)]);
    script.run(1100);
    const gone = script.ask('parameters-check');
    const reports = script.play(program);
    expect(answer(reports[told]).values.count).toBe(0);
    expect(answer(reports[gone]).status).toBe('nothing-staged');
  });

  it.each(['parameters-stage', 'parameters-check', 'parameters-commit', 'lockstep-begin', 'loader-enter'])(
    'refuses %s with the key on, with voltage at the tap, and in a fault',
    (service) => {
      const refusals = ['key', 'voltage', 'busy'].map((reason) => {
        const script = quiet();
        if (reason === 'key') script.say(`digital_inputs ${QUIET | INPUT_KEY}`);
        // 46 V: at rest it takes a while to become a fault.
        if (reason === 'voltage') script.say('readings 600');
        if (reason === 'busy') script.say(`digital_inputs ${QUIET | INPUT_OVERRUN}`);
        script.run(12);
        const asked = script.ask(service);
        return { reason, answered: answer(script.play(program)[asked]) };
      });
      for (const { reason, answered } of refusals) expect(answered.status, reason).toBe(reason);
    },
  );

  describe('the trim', () => {
    const armed = () => {
      const script = quiet().say(`digital_inputs ${QUIET | INPUT_KEY}`);
      script.run(12);
      return script;
    };
    const read = (script: BoxScript) => script.ask('parameters-read', { first: PARAMETER_TRIM_V, count: 1 });

    it('changes with the key on, without a flash write, and is lost at power-off', () => {
      const script = armed();
      const trimmed = script.ask('trim', { trim_V: 0.5 });
      const live = read(script);
      script.restart(0);
      script.run(20);
      const lost = read(script);
      const reports = script.play(program);
      expect(answer(reports[trimmed])).toMatchObject({ status: 'done', values: { trim_V: 0.5 } });
      expect(answer(reports[live]).records).toEqual([value(PARAMETER_TRIM_V, 0.5)]);
      expect(answer(reports[lost]).records).toEqual([value(PARAMETER_TRIM_V, 0)]);
      expect(reports[lost].flash_operations).toBe(0);
    });

    it('is kept by the next commit, with the key off', () => {
      const script = armed();
      script.ask('trim', { trim_V: 0.5 });
      script.say(`digital_inputs ${QUIET}`);
      script.run(40);
      script.ask('parameters-stage', {}, [value(ID_GAIN_P, 3)]);
      const committed = script.ask('parameters-commit', {}, [], 200);
      script.restart(0);
      script.run(20);
      const kept = read(script);
      const reports = script.play(program);
      expect(answer(reports[committed]).status).toBe('done');
      expect(answer(reports[kept]).records).toEqual([value(PARAMETER_TRIM_V, 0.5)]);
    });

    it('is answered as it is in force: never below the least standoff', () => {
      const script = armed();
      const asked = script.ask('trim', { trim_V: -10 });
      const after = read(script);
      const reports = script.play(program);
      const { trim_V } = answer(reports[asked]).values as { trim_V: number };
      expect(answer(reports[after]).records).toEqual([value(PARAMETER_TRIM_V, trim_V)]);
      const of = (name: string) => PARAMETER_ROWS.find((row) => row.name === name)!.default;
      expect(trim_V).toBeCloseTo(-0.5 * of('cut_height_mm') * of('arc_slope_V_per_mm'), 4);
      expect(trim_V).toBeGreaterThan(-10);
    });

    it.each([11, -10.5, Number.NaN])('of %f V is refused, and the one in force stays', (trim_V) => {
      const script = armed();
      script.ask('trim', { trim_V: 1 });
      const refused = script.ask('trim', { trim_V });
      const after = read(script);
      const reports = script.play(program);
      expect(answer(reports[refused])).toMatchObject({ status: 'range', values: {} });
      expect(answer(reports[after]).records).toEqual([value(PARAMETER_TRIM_V, 1)]);
    });

    it('is the only one: with the key on no parameter can be staged, not even the trim', () => {
      const script = armed();
      const asked = PARAMETER_ROWS.map(({ id, max }) => script.ask('parameters-stage', {}, [value(id, max)]));
      const reports = script.play(program);
      for (const [id, index] of asked.entries()) expect(answer(reports[index]).status, `${id}`).toBe('key');
    });

    it('stays while a host has the module in lockstep', () => {
      const script = quiet();
      script.ask('lockstep-begin');
      const asked = script.ask('trim', { trim_V: 1 });
      expect(answer(script.play(program)[asked]).status).toBe('lockstep');
    });
  });

  it('goes into the loader once its answer has left, and not if the key comes on before', () => {
    const script = quiet();
    const asked = script.ask('loader-enter', {}, [], 3);
    script.say('run 100');
    const restarted = script.expectReport();
    const kept = quiet();
    kept.ask('loader-enter');
    kept.say(`digital_inputs ${QUIET | INPUT_KEY}`);
    kept.run(200);
    const still = kept.ask('identity');
    const reports = script.play(program);
    expect(answer(reports[asked]).status).toBe('done');
    // The box says nothing more, starts again, and the ticks that were left are those of the new start.
    expect(reports[restarted].rests).toBe(1);
    expect(answer(kept.play(program)[still]).values.boot).toBe(0);
  });

  it('sends a row for every tick, numbered without a gap, and for every tenth if that is wanted', () => {
    const script = quiet();
    script.ask('telemetry', { every_ms: 1 });
    const each = Array.from({ length: 20 }, () => script.run(5));
    script.ask('telemetry', { every_ms: 10 });
    const tenth = Array.from({ length: 10 }, () => script.run(10));
    const reports = script.play(program);
    const rows = each.flatMap((index) => reports[index].answers);
    const numbers = rows.map(({ values }) => values.tick as number);
    expect(numbers).toEqual(numbers.map((_, i) => numbers[0] + i));
    expect(rows.map(({ sequence }) => sequence)).toEqual(rows.map((_, i) => rows[0].sequence + i));
    expect(rows.length).toBeGreaterThan(90);
    expect(tenth.flatMap((index) => reports[index].answers)).toHaveLength(10);
  });

  it('drops rows that find no room, and the gap in the numbers shows it', () => {
    const script = quiet();
    script.ask('telemetry', { every_ms: 1 });
    const jam = script.run(60);
    const after = Array.from({ length: 5 }, () => script.run(5));
    const reports = script.play(program);
    const sequences = [jam, ...after].flatMap((index) => reports[index].answers.map(({ sequence }) => sequence));
    const gaps = sequences.slice(1).filter((sequence, i) => sequence !== sequences[i] + 1);
    expect(gaps).toHaveLength(1);
    expect(sequences.at(-1) - sequences[0]).toBeGreaterThan(sequences.length);
  });

  it('changes its speed when asked, and goes back after a second without a whole frame', () => {
    const script = quiet();
    const refused = [9599, 2000001].map((baud) => script.ask('line-speed', { baud }));
    const asked = script.ask('line-speed', { baud: 921600 });
    script.ask('telemetry', { every_ms: 1000 });
    const pinged = [1, 2, 3].map(() => {
      script.run(900);
      return script.ask('ping');
    });
    // Noise is no frame.
    script.bytes(Buffer.from('0102030405060700', 'hex'));
    const silent = script.run(1100);
    const reports = script.play(program);
    for (const index of refused) expect(answer(reports[index]).status).toBe('speed');
    expect(reports[asked].baud).toBe(921600);
    for (const index of pinged) expect(reports[index].baud).toBe(921600);
    expect(reports[silent].baud).toBe(115200);
  });

  it('gives mean and spread of the last whole second’s readings, to the count', () => {
    const script = quiet();
    const early = script.ask('readings');
    script.say('readings 130');
    script.run(1000);
    script.say('readings 124');
    script.run(500);
    script.say('readings 128');
    script.run(500);
    const asked = script.ask('readings');
    const reports = script.play(program);
    expect(answer(reports[early]).values).toMatchObject({ count: 0, sum: 0 });
    const { count, sum, square_sum_low, square_sum_high, least, most, reference } = answer(reports[asked]).values;
    expect({ count, least, most, reference, square_sum_high }).toEqual({
      ...{ count: 1000 * READINGS_PER_TICK, least: 124, most: 130, reference: 2048, square_sum_high: 0 },
    });
    // The second began 23 ticks after the readings became 130: so many of them are still in it.
    const late = 23;
    expect(sum).toBe(10 * (late * 130 + 500 * 124 + (500 - late) * 128));
    expect(square_sum_low).toBe(10 * (late * 36 + (500 - late) * 16));
  });
});
