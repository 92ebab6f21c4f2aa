// Pins, by jumpers. For inputs and step counters no output is moved: an input is joined to 0 V, or to the lamp, which flashes by itself.
// Outputs move by a service of the box that is for a board without wires: in the desk state, key off, nothing that permits anything
// at its inputs. The trigger never moves.
import { PIN_ROWS } from '../../../firmware/ports/rp2040/board-rows.js';
import * as layout from '../../../firmware/wire/layout.gen.js';
import { numberOf, TRIAL_NUMBER_ROWS } from '../../../firmware/wire/number-rows.js';
import { readState, type Session, type Values } from '../../link/index.js';
import { atBox, type Bench, failed, notTried, passed, type StepContext, type StepResult, type Wire } from './bench.js';
import { atDesk } from './link-steps.js';
import { lostAmong, rowsFrom } from './time-steps.js';

/** Where a wire's end is on the board. */
function placeOf(name: string): string {
  const row = PIN_ROWS.find((each) => each.name === name);
  return row ? `GPIO${row.gpio} (${name})` : name;
}

/** A wire as a person has to set it. */
export const wireWords = ({ from, to, rc }: Wire): string =>
  rc
    ? `47 kohm from ${placeOf(from)} to ${placeOf(to)}, and 100 uF from ${placeOf(to)} to 0 V`
    : `a jumper from ${placeOf(from)} to ${placeOf(to)}`;

const BITS = layout as unknown as Readonly<Record<string, number>>;
/** Inputs that read true at 0 V, with the bit of each. */
const INPUTS = PIN_ROWS.filter(({ direction, carries }) => direction === 'in' && carries !== '').map(
  ({ name, carries }) => ({
    name,
    bit: BITS[carries],
  }),
);
const ALL = INPUTS.reduce((bits, { bit }) => bits | bit, 0);
/** Debounced by nobody: the state says what was sampled, a few ticks ago at most. */
const SETTLE_ms = 30;

/** Names of the inputs that these bits say are true. */
const namesOf = (bits: number): string => {
  const names = INPUTS.filter(({ bit }) => (bits & bit) !== 0).map(({ name }) => name);
  return names.length === 0 ? 'none' : names.join(', ');
};

/** The readback of the relay comes with telemetry alone: the state leaves it out. */
async function trueInputs(bench: Bench, session: Session): Promise<number> {
  await bench.pause(SETTLE_ms);
  const state = (await readState(session))!;
  let row: Values | undefined;
  session.onTelemetry = (now) => {
    row ??= now;
  };
  await session.ask('telemetry', { every_ms: 1 });
  while (row === undefined && session.lost === '') await bench.pause(SETTLE_ms);
  await session.ask('telemetry', { every_ms: 0 });
  session.onTelemetry = () => {};
  const relay = row?.relay === 0 ? 0 : layout.INPUT_RELAY;
  return (state.digital_inputs | relay) & ALL;
}

const wired = (bench: Bench, ...wires: readonly Wire[]): Promise<boolean> => bench.deed({ kind: 'wires', wires });

/** Each input, joined to 0 V, reads true, and no other does; not joined, it does not. */
export function inputsStep({ bench }: StepContext): Promise<StepResult> {
  return atBox(bench, async (session) => {
    if (!(await wired(bench))) return notTried('no jumpers were set');
    const before = await trueInputs(bench, session);
    if (before !== 0)
      return failed(`with nothing wired these read true: ${namesOf(before)}`, { reads_true: namesOf(before) });
    let tried = 0;
    for (const { name, bit } of INPUTS) {
      if (!(await wired(bench, { from: '0 V', to: name })))
        return notTried(`broken off at ${name}, after ${tried} inputs`);
      const now = await trueInputs(bench, session);
      if (now !== bit) {
        return failed(`with ${name} at 0 V these read true: ${namesOf(now)}`, {
          joined: name,
          reads_true: namesOf(now),
        });
      }
      tried++;
    }
    await wired(bench);
    const after = await trueInputs(bench, session);
    if (after !== 0)
      return failed(`with the last jumper off these read true: ${namesOf(after)}`, { reads_true: namesOf(after) });
    return passed(`${tried} inputs, one by one at 0 V: each read true alone`, { inputs: tried });
  });
}

/** In the desk state the lamp goes on at these ticks of each period. */
const PERIOD = 512;
const LIT_AT = [0, 128];
/** A pin that went high in one tick is counted in the next, or in the one after. */
const isDue = (tick: number): boolean => LIT_AT.some((at) => [1, 2].includes((tick - at + PERIOD) % PERIOD));

/** The lamp's flashes, counted as steps: none lost, none too many, and the sign is that of the direction. */
export async function countersStep({ bench, count }: StepContext): Promise<StepResult> {
  const figures: Record<string, number> = {};
  for (const axis of ['X', 'Y'] as const) {
    for (const sign of [-1, 1]) {
      const direction: Wire = { from: sign < 0 ? '0 V' : '3.3 V', to: `${axis}_DIRECTION` };
      if (!(await wired(bench, { from: 'LAMP', to: `${axis}_STEP` }, direction)))
        return notTried('the jumpers were not set');
      const rows = await atDesk(bench, async (session) => {
        // The lamp may go on as the desk state begins: that is none of its flashes.
        await bench.pause(SETTLE_ms);
        return rowsFrom(bench, session, count * PERIOD);
      });
      const lost = lostAmong(rows);
      if (rows.length < count * PERIOD || lost > 0)
        return failed(`${axis}: ${rows.length} rows came, and ${lost} were lost between them`, figures);
      const steps = rows.map((row) => row[axis === 'X' ? 'x_steps' : 'y_steps'] as number);
      const others = rows.filter((row) => row[axis === 'X' ? 'y_steps' : 'x_steps'] !== 0).length;
      const counted = steps.reduce((sum, n) => sum + n, 0);
      const stray = rows.filter(
        ({ tick }, at) => steps[at] !== 0 && (Math.abs(steps[at]) > 1 || !isDue(tick as number)),
      ).length;
      const flashes = LIT_AT.length * count;
      figures[`${axis}${sign < 0 ? '_down' : '_up'}`] = counted;
      const words = `${axis}, ${sign < 0 ? 'negative' : 'positive'}: ${counted} steps of ${sign * flashes}`;
      if (stray > 0 || others > 0)
        return failed(`${words}, ${stray} at other times, ${others} on the other axis`, figures);
      if (counted !== sign * flashes) return failed(words, figures);
    }
  }
  await wired(bench);
  return passed(
    `${LIT_AT.length * count} flashes of the lamp counted on each axis, in both directions: none lost, none too many`,
    figures,
  );
}

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
