// Inputs and step counters, by jumpers. No output is moved for it: an input is joined to 0 V, or to the lamp, which flashes by itself.
import { PIN_ROWS } from '../../../firmware/ports/rp2040/board-rows.js';
import * as layout from '../../../firmware/wire/layout.gen.js';
import { readState, type Session, type Values } from '../../link/index.js';
import { atBox, type Bench, failed, notTried, passed, type StepContext, type StepResult, type Wire } from './bench.js';
import { atDesk } from './link-steps.js';
import { lostAmong, rowsFrom } from './time-steps.js';

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
      const rows = await atDesk(bench, (session) => rowsFrom(bench, session, count * PERIOD));
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
