/** Outputs raised by a host on a board that is not wired: what it may, what ends it, and that the trigger never moves. */
import { expect, it } from 'vitest';
import * as wire from '../../firmware/wire/layout.gen.js';
import { BOOT_ROWS } from '../../firmware/wire/link-rows.js';
import { numberOf, TRIAL_NUMBER_ROWS } from '../../firmware/wire/number-rows.js';
import { describeAgainst } from '../reference/support.js';
import { buildBox, type Patch } from './box-native.js';
import { type BoxReport, BoxScript } from './box-script.js';
import { GCC } from './loader-native.js';

const trial = (name: string): number => numberOf(TRIAL_NUMBER_ROWS, name);
const OWNED = trial('TRIAL_Z_OWNED');
const boot = (name: string): number => BOOT_ROWS.findIndex((row) => row.name === name);

/** A bare board in the desk state. */
function atDesk(): BoxScript {
  const script = new BoxScript().say('digital_inputs 0').say('readings 500').say('reference 700');
  script.run(1500);
  script.ask('desk-begin');
  return script;
}

/** Plays something and gives what is wrong with what came of it. */
type Check = (program: string) => string[];
const checks: Readonly<Record<string, Check>> = {
  'raises what was asked for, and rests half a second after the last request'(program) {
    const script = atDesk();
    const raised = script.ask('trial-outputs', { outputs: trial('TRIAL_ALL'), z_goal: 0 });
    const [soon, late, again] = [
      script.run(400),
      script.run(200),
      script.ask('trial-outputs', { outputs: 1, z_goal: 0 }),
    ];
    const on = script.run(450);
    const reports = script.play(program);
    return wrong(reports, [
      [raised, 'trial_outputs', 15],
      [soon, 'trial_outputs', 15],
      [late, 'trial_outputs', 0],
      [again, 'trial_outputs', 1],
      [on, 'trial_outputs', 1],
    ]);
  },
  'steps to the goal and no further, however often the same is asked'(program) {
    const script = atDesk();
    for (let n = 0; n < 2; n++) script.ask('trial-outputs', { outputs: OWNED, z_goal: 1980 });
    const on_the_way = Array.from({ length: 45 }, () => script.run(1));
    const up = script.run(2);
    script.ask('trial-outputs', { outputs: OWNED, z_goal: -30 });
    const down = script.run(50);
    const reports = script.play(program);
    const beyond = on_the_way.map((at) => reports[at].trial_steps).filter((steps) => steps > 1980);
    return [
      ...beyond.map((steps) => `${steps} steps on the way to 1980`),
      ...wrong(reports, [
        [up, 'trial_steps', 1980],
        [down, 'trial_steps', -30],
      ]),
    ];
  },
  'puts out no step, and counts none, without Z in its hands'(program) {
    const script = atDesk();
    script.ask('trial-outputs', { outputs: trial('TRIAL_Z_DIRECTION'), z_goal: 100 });
    script.run(50);
    const counted = script.ask('trial-outputs', { outputs: 0, z_goal: 100 });
    script.ask('trial-outputs', { outputs: OWNED, z_goal: 100 });
    const owned = script.run(50);
    const reports = script.play(program);
    const done = reports[counted].answers[0]?.values?.z_done;
    return [...(done === 0 ? [] : [`${done} steps counted`]), ...wrong(reports, [[owned, 'trial_steps', 100]])];
  },
  'ends at once when the key is turned, and does not begin again'(program) {
    const script = atDesk();
    script.ask('trial-outputs', { outputs: 15, z_goal: 0 });
    script.say(`digital_inputs ${wire.INPUT_KEY}`);
    const turned = script.run(2);
    const refused = script.ask('trial-outputs', { outputs: 15, z_goal: 0 });
    const reports = script.play(program);
    return [
      ...wrong(reports, [
        [turned, 'trial_outputs', 0],
        [refused, 'trial_outputs', 0],
      ]),
      ...status(reports, refused, 'key'),
    ];
  },
  'is refused where something that permits has current, and ends when it comes'(program) {
    const found: string[] = [];
    for (const bit of [wire.INPUT_STOP_CHAIN, wire.INPUT_BREAKAWAY]) {
      const script = atDesk();
      script.ask('trial-outputs', { outputs: 15, z_goal: 0 });
      script.say(`digital_inputs ${bit}`);
      const plugged = script.run(2);
      const refused = script.ask('trial-outputs', { outputs: 15, z_goal: 0 });
      const reports = script.play(program);
      found.push(...wrong(reports, [[plugged, 'trial_outputs', 0]]), ...status(reports, refused, 'wired'));
    }
    return found;
  },
  'moves neither the trigger nor an output of the module'(program) {
    const script = atDesk();
    const before = script.run(1);
    for (let n = 0; n < 20; n++) script.ask('trial-outputs', { outputs: n % 16, z_goal: 100 * n });
    const after = script.run(1);
    const reports = script.play(program);
    return [
      ...wrong(reports, [[after, 'trigger_edges', reports[before].trigger_edges]]),
      ...wrong(reports, [[after, 'z_steps', reports[before].z_steps]]),
      ...wrong(reports, [[after, 'digital_outputs', reports[before].digital_outputs]]),
    ];
  },
  'counts the steps of X and Y in the desk state'(program) {
    const script = atDesk();
    const counted: number[] = [];
    for (const steps of [7, -3]) {
      script.say(`steps ${steps} ${2 * steps}`).run(1);
      counted.push(script.ask('trial-outputs', { outputs: 0, z_goal: 0 }));
    }
    const reports = script.play(program);
    const values = counted.map((at) => reports[at].answers[0]?.values ?? {});
    const is = values.map(({ x_counted, y_counted }) => `${x_counted} ${y_counted}`).join(', ');
    return is === '7 14, 4 8' ? [] : [`counted ${is}`];
  },
  'refuses what it does not know'(program) {
    const script = atDesk();
    const many = script.ask('trial-outputs', { outputs: 16, z_goal: 0 });
    const far = script.ask('trial-outputs', { outputs: OWNED, z_goal: 100_000_001 });
    const deep = script.ask('trial-outputs', { outputs: OWNED, z_goal: -100_000_001 });
    const none = script.ask('trial-failure', { failure: 0 });
    const more = script.ask('trial-failure', { failure: 4 });
    const reports = script.play(program);
    return [many, far, deep, none, more].flatMap((at) => status(reports, at, 'range'));
  },
  'fails only when its answer has left, and knows why it started'(program) {
    return (['hung', 'stack', 'hard-fault'] as const).flatMap((cause, at) => {
      const script = atDesk();
      const asked = script.ask('trial-failure', { failure: at + 1 });
      // The first of these ends with the failure.
      script.run(100);
      const after = script.run(1);
      const reports = script.play(program);
      return [...status(reports, asked, 'done'), ...wrong(reports, [[after, 'cause', boot(cause)]])];
    });
  },
};

const wrong = (
  reports: readonly BoxReport[],
  wanted: readonly (readonly [number, keyof BoxReport, number])[],
): string[] =>
  wanted.flatMap(([at, key, value]) =>
    reports[at][key] === value ? [] : [`report ${at}: ${key} is ${reports[at][key]}, not ${value}`],
  );

const status = (reports: readonly BoxReport[], at: number, wanted: string): string[] => {
  const is = reports[at].answers[0]?.status;
  return is === wanted ? [] : [`report ${at}: ${is}, not ${wanted}`];
};

const TRIAL = 'firmware/box/trial.c';
const PORT = 'firmware/ports/host/port.c';
const patch = (file: string, find: string, replace: string): Patch => ({ file, find, replace });
/** A planted defect, and the check that finds it. */
type Defect = readonly [what: string, check: string, ...patches: Patch[]];
const DEFECTS: readonly Defect[] = [
  ['the outputs stay raised', 'raises what', patch(TRIAL, 'tick_number() - begun_at < HOLD_ms && ', '')],
  [
    'the goal is taken as a distance',
    'steps to',
    patch(TRIAL, 'z_goal = request.z_goal;', 'z_goal = z_done + request.z_goal;'),
  ],
  [
    'steps that are not put out count',
    'puts out no',
    patch(TRIAL, '(outputs & TRIAL_Z_OWNED) != 0 ? z_goal - z_done : 0', 'z_goal - z_done'),
  ],
  ['any goal is taken', 'refuses', patch(TRIAL, 'request.z_goal > GOAL_MOST || request.z_goal < -GOAL_MOST', 'false')],
  ['the last steps are too many', 'steps to', patch(TRIAL, 'left > STEPS ? STEPS', 'left > 0 ? STEPS')],
  ['the key does not end it', 'ends at once', patch(TRIAL, '#define PERMITTING (INPUT_KEY | ', '#define PERMITTING (')],
  ['the key does not refuse it', 'ends at once', patch(TRIAL, 'if (status_key_on()) return STATUS_KEY;', '')],
  ['a stop chain does not count', 'is refused', patch(TRIAL, 'INPUT_STOP_CHAIN | INPUT_BREAKAWAY', 'INPUT_BREAKAWAY')],
  [
    'a seated torch does not count',
    'is refused',
    patch(TRIAL, 'INPUT_STOP_CHAIN | INPUT_BREAKAWAY', 'INPUT_STOP_CHAIN'),
  ],
  [
    'a wired box is not refused',
    'is refused',
    patch(TRIAL, '? STATUS_WIRED : STATUS_DONE', '? STATUS_DONE : STATUS_DONE'),
  ],
  [
    'the trigger goes along',
    'moves neither',
    patch(
      PORT,
      '  host.trial_outputs = outputs;',
      '  host.trial_outputs = outputs;\n  host.trigger_edges += outputs & 1u;',
    ),
  ],
  [
    'the steps are those of the module',
    'moves neither',
    patch(PORT, 'host.trial_steps += z_steps', 'host.z_steps += z_steps'),
  ],
  ['X and Y are exchanged', 'counts', patch(TRIAL, 'x_counted += inputs->x_steps', 'x_counted += inputs->y_steps')],
  [
    'any output is taken',
    'refuses',
    patch(TRIAL, 'if ((request.outputs & ~(uint32_t)TRIAL_ALL) != 0) return STATUS_RANGE;', ''),
  ],
  ['any failure is taken', 'refuses', patch(TRIAL, ' || request.failure > TRIAL_PROTECTED', '')],
  [
    'it fails before it has answered',
    'fails only',
    patch(TRIAL, '#define ANSWER_ms 50u', '#define ANSWER_ms 0u'),
    patch(
      TRIAL,
      '  failure = request.failure;',
      '  failure = request.failure;\n  port_rest();\n  port_restart(BOOT_RESTART);',
    ),
  ],
];

describeAgainst(GCC, 'the trial of a board without wires', (gcc) => {
  const program = buildBox(gcc);
  it.each(Object.entries(checks))('%s', (_what, check) => expect(check(program)).toEqual([]));

  it.each(DEFECTS.map(([what, name, ...patches]) => ({ what, name, patches })))(
    'is found wanting where $what',
    ({ name, patches }) => {
      const spoilt = buildBox(gcc, { flags: [], patches });
      const [, check] = Object.entries(checks).find(([words]) => words.startsWith(name))!;
      let found: string[];
      try {
        found = check(spoilt);
      } catch (error) {
        found = [String(error)];
      }
      expect(found).not.toEqual([]);
    },
  );
});
