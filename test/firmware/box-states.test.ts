/** Every service in every state of the box: done, or refused with the status that its row says. */
import { expect, it } from 'vitest';
import * as wire from '../../firmware/wire/layout.gen.js';
import { BOX_STATES, type BoxState, SERVICE_ROWS } from '../../firmware/wire/link-rows.js';
import type { Values } from '../../sim/link/index.js';
import { describeAgainst } from '../reference/support.js';
import { buildBox } from './box-native.js';
import { BoxScript } from './box-script.js';
import { GCC } from './loader-native.js';

const QUIET = wire.INPUT_STOP_CHAIN | wire.INPUT_BREAKAWAY | wire.INPUT_TOP;
const VOLTAGE = 1500;

const quiet = (script: BoxScript) => script.say(`digital_inputs ${QUIET}`).run(600);
const bare = (script: BoxScript) => script.say('digital_inputs 0').say(`readings ${VOLTAGE}`).run(1500);

/** Brings a fresh box there. */
const ENTER: Readonly<Partial<Record<BoxState, (script: BoxScript) => void>>> = {
  rest: quiet,
  key(script) {
    quiet(script);
    script.say(`digital_inputs ${QUIET | wire.INPUT_KEY}`).run(5);
  },
  voltage(script) {
    quiet(script);
    // It becomes a fault some 40 ms later.
    script.say(`readings ${VOLTAGE}`).run(12);
  },
  fault: bare,
  desk(script) {
    bare(script);
    script.ask('desk-begin');
  },
  'desk-key'(script) {
    bare(script);
    script.ask('desk-begin');
    script.say(`digital_inputs ${wire.INPUT_KEY}`).run(3);
  },
  lockstep(script) {
    quiet(script);
    script.ask('lockstep-begin');
  },
};

const VALUE = { id: 1, spare: 0, value: 200 };
/** A request that nothing but the state can be wrong with. */
const RIGHT: Readonly<Record<string, readonly [Values, readonly Values[]]>> = {
  'line-speed': [{ baud: 115_200 }, []],
  'parameters-stage': [{}, [VALUE]],
  'lockstep-ticks': [{ first: 0 }, [{ block: new Uint8Array(wire.INPUT_BYTES) }]],
  'lockstep-parameter': [{ id: 1, value: 200 }, []],
  'trial-outputs': [{ outputs: 1, z_goal: 0 }, []],
  'trial-failure': [{ failure: 1 }, []],
  'parameters-read': [{ first: 0, count: 1 }, []],
  'events-read': [{ first: 0, count: 1 }, []],
  'history-read': [{ first: 0, count: 1 }, []],
  slot: [{ slot: 0 }, []],
};
const NEEDS_STAGED = ['parameters-check', 'parameters-commit'];
const STREAM = 'telemetry-row';

describeAgainst(GCC, 'what the box lets a host do', (gcc) => {
  const program = buildBox(gcc);
  const states = BOX_STATES.filter(([state]) => ENTER[state] !== undefined);

  it.each(states)('%s: %s', (state) => {
    for (const { name, by, refused } of SERVICE_ROWS) {
      if (by === 'loader' || name === STREAM) continue;
      const script = new BoxScript();
      ENTER[state]!(script);
      if (NEEDS_STAGED.includes(name)) script.ask('parameters-stage', {}, [VALUE]);
      const asked = script.ask(name, ...(RIGHT[name] ?? [{}, []]));
      const [answer] = script.play(program)[asked].answers;
      expect(answer.status, name).toBe(refused[state] ?? 'done');
    }
  });
});
