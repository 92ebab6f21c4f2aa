import { Command, InvalidArgumentError } from '@commander-js/extra-typings';
import { BAUD_AT_START } from '../../../firmware/wire/link-rows.js';
import { agreeSpeed, leaveLoader, moduleWords, refuseUnusable, withBox } from '../../link/index.js';
import { cutLeg, type LockstepResult, randomLeg, runLockstep } from '../../run/box/index.js';
import { loadControlModule } from '../../run/controller/index.js';
import { terminalStyle } from '../../views/text/index.js';
import { EXIT, interruptible } from '../base/command-line.js';
import { DEFAULT_SEED, seedOf } from '../base/inputs.js';
import { ProgressDisplay } from '../base/progress.js';
import { baudOption, portOption } from './port.js';

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
        'module on the desk. The outputs of the box stay at rest meanwhile. Needs the arm key off and the box at rest; ' +
        'it ends when the key is turned on.',
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
  const result = await withBox(options.port, async (session, first) => {
    const identity = await leaveLoader(session, first);
    refuseUnusable(identity);
    display.say(`module in the box: ${moduleWords(identity.module_sha256, module.sha256)}`);
    const baud = await agreeSpeed(session, options.baud, BAUD_AT_START);
    session.watch();
    let shown_ms = 0;
    try {
      return await interruptible((signal) =>
        runLockstep(session, {
          ticks,
          leg: (index) => (random ? randomLeg : cutLeg)(module, seed + index),
          signal,
          onProgress: (done, elapsed_s) => {
            if (!style.live || Date.now() - shown_ms < SHOW_MS) return;
            shown_ms = Date.now();
            display.stage(`${done} of ${ticks} ticks the same, ${rate(done, elapsed_s)} ticks/s`);
          },
        }).then((ended) => ({ ...ended, interrupted: signal.aborted, baud })),
      );
    } finally {
      display.end();
      if (session.lost === '') await session.askAnyway('line-speed', { baud: BAUD_AT_START }).catch(() => {});
    }
  });
  if (result === undefined) return EXIT.interrupted;
  display.say(resultWords(result, random ? 'arbitrary inputs' : 'a simulated cut', seed, result.baud));
  if (result.interrupted) return EXIT.interrupted;
  return result.difference ? EXIT.broken : EXIT.kept;
}

const rate = (ticks: number, elapsed_s: number): number => (elapsed_s > 0 ? Math.round(ticks / elapsed_s) : 0);

/** The result in a sentence. */
export function resultWords(result: LockstepResult, what: string, seed: number, baud: number): string {
  const { ticks, difference, elapsed_s } = result;
  const speed = `${rate(ticks, elapsed_s)} ticks/s at ${baud} bit/s`;
  const tried = `${what}, seed ${seed}`;
  if (difference === undefined) return `Tried: ${tried}. Found: all ${ticks} ticks the same, byte for byte; ${speed}.`;
  const { tick, field, box, desk } = difference;
  return (
    `Tried: ${tried}. Found: box and desk DIFFER, first in tick ${tick} (${ticks} the same before it), in ${field}: ` +
    `box ${box}, desk ${desk}.`
  );
}
