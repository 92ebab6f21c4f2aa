// Outputs, by jumpers to inputs, and a great many steps. They move by a service of the box that is for a board without wires: in the
// desk state, key off, nothing that permits anything at its inputs. The trigger never moves.
import { PIN_ROWS } from '../../../firmware/ports/rp2040/board-rows.js';
import * as layout from '../../../firmware/wire/layout.gen.js';
import { numberOf, TRIAL_NUMBER_ROWS } from '../../../firmware/wire/number-rows.js';
import { readState, type Session } from '../../link/index.js';
import { atBox, type Bench, failed, notTried, passed, type StepContext, type StepResult, type Wire } from './bench.js';
import { atDesk } from './link-steps.js';
import { rowsFrom } from './time-steps.js';

const BITS = layout as unknown as Readonly<Record<string, number>>;
const trial = (name: string): number => numberOf(TRIAL_NUMBER_ROWS, name);
const inputBit = (name: string): number => BITS[PIN_ROWS.find((row) => row.name === name)!.carries];

/** Each output that a host may raise, its bit, and the input that it is joined to: true while the output is low. */
const PAIRS = [
  ['Z_STEP', trial('TRIAL_Z_STEP'), 'TOUCH'],
  ['Z_DIRECTION', trial('TRIAL_Z_DIRECTION'), 'TOP'],
  ['Z_OWNED', trial('TRIAL_Z_OWNED'), 'HOLD'],
  ['MOTION_PERMIT', trial('TRIAL_PERMIT'), 'RESET'],
] as const;
const STOP_INPUT = 'SUPPLY_CONTACT';
const SETTLE_ms = 30;
/** Longer than the box leaves outputs raised without another request, ms. */
const RESTS_ms = 700;
/** A box without wires has its latched stop set sooner, ms. */
const STOP_ms = 2000;

const raise = (session: Session, outputs: number, z_goal = 0) => session.ask('trial-outputs', { outputs, z_goal });

/** Outputs that are high, by the inputs that they are joined to. */
async function highOutputs(bench: Bench, session: Session): Promise<string> {
  await bench.pause(SETTLE_ms);
  const { digital_inputs } = (await readState(session))!;
  const high = PAIRS.filter(([, , input]) => (digital_inputs & inputBit(input)) === 0).map(([name]) => name);
  return high.length === 0 ? 'none' : high.join(', ');
}

/** Each output alone is seen at the input that it is joined to, and rests by itself; the latched stop as the box says it. */
export async function outputsStep({ bench }: StepContext): Promise<StepResult> {
  const wires: Wire[] = PAIRS.map(([from, , to]) => ({ from, to }));
  if (!(await bench.deed({ kind: 'wires', wires: [...wires, { from: 'LATCHED_STOP', to: STOP_INPUT }] })))
    return notTried('the jumpers were not set');
  const trouble = await atDesk(bench, async (session) => {
    for (const [name, bit] of PAIRS) {
      const before = await highOutputs(bench, session);
      if (before !== 'none') return `at rest these are high: ${before}`;
      await raise(session, bit);
      const now = await highOutputs(bench, session);
      if (now !== name) return `with ${name} raised these are high: ${now}`;
      await bench.pause(RESTS_ms);
    }
    const after = await highOutputs(bench, session);
    return after === 'none' ? '' : `without a request these stayed high: ${after}`;
  });
  if (trouble !== '') return failed(trouble);
  const seen = await atBox(bench, (session) => latchedStop(bench, session));
  await bench.deed({ kind: 'wires', wires: [] });
  if (seen.wrong > 0 || seen.set === 0) {
    const words = `the latched stop: in ${seen.wrong} of ${seen.ticks} ticks the pin is not what the box says, set in ${seen.set}`;
    return failed(words, seen);
  }
  const words = `${PAIRS.map(([name]) => name).join(', ')}: each raised alone, seen alone, at rest again by itself; LATCHED_STOP as the box says it; TRIGGER by design not`;
  return passed(words, { outputs: PAIRS.length + 1, ...seen });
}

/** From a start on: a pin that changed in one tick is sampled for the next. */
async function latchedStop(bench: Bench, session: Session) {
  const rows = await rowsFrom(bench, session, STOP_ms);
  const isSet = rows.map(({ digital_outputs }) => ((digital_outputs as number) & layout.OUTPUT_LATCHED_STOP) !== 0);
  const low = rows.map(({ digital_inputs }) => ((digital_inputs as number) & inputBit(STOP_INPUT)) !== 0);
  const changes = (at: number) => isSet[at - 1] !== isSet[at] || isSet[at - 2] !== isSet[at - 1];
  const wrong = rows.filter((_, at) => at > 1 && !changes(at) && low[at] === isSet[at]).length;
  return { ticks: rows.length, wrong, set: isSet.filter((set) => set).length };
}

/** Long enough for the pulses of a tick to be counted, and how often a run of steps is asked for. */
const COUNTED_ms = 20;
const RENEW_ms = 100;

/** Steps up and down again, counted by both counters: none lost, none too many. */
export async function stepsStep({ bench, count, tell }: StepContext): Promise<StepResult> {
  const wires: Wire[] = ['X', 'Y'].flatMap(
    (axis) =>
      [
        { from: 'Z_STEP', to: `${axis}_STEP` },
        { from: 'Z_DIRECTION', to: `${axis}_DIRECTION` },
      ] as const,
  );
  if (!(await bench.deed({ kind: 'wires', wires }))) return notTried('the jumpers were not set');
  tell('Z_STEP and Z_DIRECTION at both counters ...');
  const result = await atDesk(bench, async (session) => {
    session.watch();
    let given = 0;
    const begin = await counts(session, 0);
    for (const goal of [Math.ceil(count / 2), 0]) {
      const from = (await counts(session, goal)).z_done;
      const end_ms = bench.now_ms() + count + 5000;
      while ((await counts(session, goal)).z_done !== goal && bench.now_ms() < end_ms) await bench.pause(RENEW_ms);
      await bench.pause(COUNTED_ms);
      const now = await counts(session, goal);
      given += Math.abs(now.z_done - (goal === 0 ? Math.ceil(count / 2) : Math.min(from, 0)));
      const figures = {
        steps: given,
        z_done: now.z_done,
        x_counted: now.x_counted - begin.x_counted,
        y_counted: now.y_counted - begin.y_counted,
      };
      const words = `${now.z_done} steps of ${goal}: X counted ${figures.x_counted}, Y ${figures.y_counted}`;
      if (now.z_done !== goal || figures.x_counted !== goal || figures.y_counted !== goal)
        return failed(words, figures);
    }
    return passed(`${given} steps, half up and half down, counted on X and on Y: none lost, none too many`, {
      steps: given,
    });
  });
  await bench.deed({ kind: 'wires', wires: [] });
  return result;
}

async function counts(session: Session, z_goal: number) {
  const { values } = await raise(session, trial('TRIAL_Z_OWNED'), z_goal);
  return values as { readonly z_done: number; readonly x_counted: number; readonly y_counted: number };
}
