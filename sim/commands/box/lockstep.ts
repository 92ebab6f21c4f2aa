import { Command, InvalidArgumentError } from '@commander-js/extra-typings';
import { BAUD_AT_START } from '../../../firmware/wire/link-rows.js';
import { agreeSpeed, leaveLoader, moduleWords, refuseUnusable, type Session, speedOn } from '../../link/index.js';
import { cutLeg, type LockstepResult, randomLeg, runLockstep } from '../../run/box/index.js';
import { loadControlModule } from '../../run/controller/index.js';
import { terminalStyle } from '../../views/text/index.js';
import { EXIT, interruptible } from '../base/command-line.js';
import { DEFAULT_SEED, seedOf } from '../base/inputs.js';
import { ProgressDisplay } from '../base/progress.js';
import { baudOption, portOption, speedWords, withBoxAt, withDeskWhole } from './port.js';

const DEFAULT_TICKS = 10_000;
const MOST_TICKS = 100_000_000;
const SHOW_MS = 100;

function ticksOf(text: string): number {
  const ticks = Number(text);
  if (/^\d+$/.test(text) && ticks >= 1 && ticks <= MOST_TICKS) return ticks;
  throw new InvalidArgumentError(`Give a whole number from 1 to ${MOST_TICKS}.`);
}

export const lockstepCommand = () =>
  new Command('lockstep')
    .description(
      'Gives the module in the box the inputs of a simulated cut and compares every byte that it puts out with the ' +
        'module on the desk. The outputs of the box stay at rest meanwhile. Needs the arm key off and no cut under ' +
        'way; a box in a fault is brought into the desk state and started again. It ends when the key is turned on.',
    )
    .addOption(portOption())
    .option('--ticks <n>', 'ticks to compare, a tick is 1 ms of a cut', ticksOf, DEFAULT_TICKS)
    .option('--seed <n>', `seed of the cut or of the arbitrary inputs (default: ${DEFAULT_SEED})`, seedOf)
    .option('--random', 'arbitrary inputs instead of a simulated cut')
    .addOption(baudOption())
    .option('--plain', 'ASCII only, without colour')
    .addHelpText('after', '\nExit status: 0 all ticks were the same, 1 box and desk differ, 2 refused or no box.');

export type LockstepCommandOptions = ReturnType<ReturnType<typeof lockstepCommand>['opts']>;

/** Compares box and desk. @returns the exit status @throws StandoffError when the box refuses, or the link is lost */
export async function lockstep(options: LockstepCommandOptions): Promise<number> {
  const { ticks, seed = DEFAULT_SEED, random } = options;
  const module = loadControlModule();
  const style = terminalStyle(process.env, process.stdout, options.plain);
  const display = new ProgressDisplay(process.stdout, style);
  const result = await withBoxAt(options.port, async (session, first) => {
    const identity = await leaveLoader(session, first);
    refuseUnusable(identity);
    display.say(`module in the box: ${moduleWords(identity.module_sha256, module.sha256)}`);
    const compare = async () => {
      const found = await compared(session, options.baud, display, style.live, (signal, onProgress) => ({
        ticks,
        leg: (index) => (random ? randomLeg : cutLeg)(module, seed + index),
        signal,
        onProgress,
      }));
      if (found) display.say(resultWords(found, random ? 'arbitrary inputs' : 'a simulated cut', seed, found.baud));
      return found;
    };
    return withDeskWhole(session, (text) => display.say(text), compare);
  });
  if (result === undefined) return EXIT.interrupted;
  if (result.interrupted) return EXIT.interrupted;
  return result.difference ? EXIT.broken : EXIT.kept;
}

const rate = (ticks: number, elapsed_s: number): number => (elapsed_s > 0 ? Math.round(ticks / elapsed_s) : 0);

type Wanted = Parameters<typeof runLockstep>[1];

/** Compares at the agreed speed, with the line as it was afterwards. @returns undefined when somebody broke it off at once */
export async function compared(
  session: Session,
  wanted_baud: number,
  display: ProgressDisplay,
  live: boolean,
  wanted: (signal: AbortSignal, onProgress: NonNullable<Wanted['onProgress']>) => Wanted,
) {
  const baud = await agreeSpeed(session, wanted_baud, BAUD_AT_START);
  session.watch();
  let shown_ms = 0;
  try {
    return await interruptible(async (signal) => {
      const work = wanted(signal, (done, elapsed_s) => {
        if (!live || Date.now() - shown_ms < SHOW_MS) return;
        shown_ms = Date.now();
        display.stage(`${done} of ${work.ticks} ticks the same, ${rate(done, elapsed_s)} ticks/s`);
      });
      return { ...(await runLockstep(session, work)), interrupted: signal.aborted, baud: speedOn(session.line, baud) };
    });
  } finally {
    display.end();
    if (session.lost === '' && baud !== BAUD_AT_START) await agreeSpeed(session, BAUD_AT_START, baud).catch(() => {});
  }
}

/** The result in a sentence. */
export function resultWords(result: LockstepResult, what: string, seed: number, baud: number | undefined): string {
  const { ticks, difference, elapsed_s } = result;
  const speed = `${rate(ticks, elapsed_s)} ticks/s${speedWords(baud)}`;
  const tried = `${what}, seed ${seed}`;
  if (difference === undefined) return `Tried: ${tried}. Found: all ${ticks} ticks the same, byte for byte; ${speed}.`;
  const { tick, field, box, desk } = difference;
  return (
    `Tried: ${tried}. Found: box and desk DIFFER, first in tick ${tick} (${ticks} the same before it), in ${field}: ` +
    `box ${box}, desk ${desk}.`
  );
}
