import { StandoffError } from '../../base/index.js';
import { loadControlModule } from '../../run/controller/index.js';
import { LiveView, type TerminalStyle, terminalStyle } from '../../views/terminal/index.js';
import { EXIT, runStatus } from '../base/exit.js';
import { readJob } from '../base/inputs.js';
import { Session } from '../base/session.js';
import type { SimulateOptions } from './options.js';
import { openOutputs } from './outputs.js';
import { reportText } from './report.js';
import { summaryOf } from './summary.js';

/**
 * Cuts a program and prints what came of it.
 * @returns the exit status
 * @throws StandoffError for bad input, before anything is run
 */
export async function simulate(program_file: string | undefined, options: SimulateOptions): Promise<number> {
  if (program_file !== undefined && options.scenario !== undefined) {
    const what = `the program ${program_file} and the stored run ${options.scenario} were both given`;
    throw new StandoffError('two-programs', what, 'a stored run holds its program: give one of the two');
  }
  const style = terminalStyle(process.env, process.stdout, options.plain);
  const live = wantsLive(options, style.live, process.stdout.isTTY === true);
  const job = readJob(program_file, options);
  const session = new Session(job, loadControlModule(), !options.json);
  const trace = openOutputs(job, session.module_sha256, options);
  if (trace) session.addSink(trace);
  let interrupted = false;
  try {
    interrupted = live ? await watch(session, style, options.speed) : await runThrough(session);
  } finally {
    trace?.close();
  }
  if (options.json) process.stdout.write(`${JSON.stringify(summaryOf(session), undefined, 2)}\n`);
  else process.stdout.write(reportText(session, style, !live));
  if (interrupted) return EXIT.interrupted;
  return runStatus({ kept: session.judge.kept(), finished: session.outcome.ended === 'finished' });
}

/**
 * Whether the cut is watched as it goes: when asked for, else on a terminal that can be redrawn.
 * @param redrawable a terminal, not `TERM=dumb`, and no `CI`
 * @throws StandoffError `no-terminal` for --live without a terminal
 */
export function wantsLive(options: SimulateOptions, redrawable: boolean, terminal: boolean): boolean {
  if (options.live && !terminal) {
    throw new StandoffError('no-terminal', '--live needs a terminal to draw on', 'leave it out, or give --still');
  }
  return options.live ?? (redrawable && !options.still && !options.json);
}

/** Runs in the live view. @returns whether it was interrupted; q ends the run too, before its end */
async function watch(session: Session, style: TerminalStyle, speed = 1): Promise<boolean> {
  const { history, scene } = session;
  if (!history) throw new Error('the live view draws from a history');
  const { stdin, stdout } = process;
  const ended = await new LiveView({ source: session, history, scene, style, stdin, stdout, speed }).run();
  if (ended === 'quit') session.breakOff('ended with q');
  if (ended === 'interrupted') session.breakOff('broken off by Ctrl-C');
  return ended === 'interrupted';
}

/** Runs to the end or to Ctrl-C. @returns whether it was interrupted */
async function runThrough(session: Session): Promise<boolean> {
  let interrupted = false;
  const onSignal = () => {
    interrupted = true;
  };
  for (const signal of SIGNALS) process.once(signal, onSignal);
  while (!session.finished && !interrupted) {
    session.advance();
    await new Promise((resolve) => setImmediate(resolve));
  }
  for (const signal of SIGNALS) process.off(signal, onSignal);
  if (interrupted) session.breakOff('broken off by Ctrl-C');
  return interrupted;
}

const SIGNALS = ['SIGINT', 'SIGTERM', 'SIGHUP'] as const;
