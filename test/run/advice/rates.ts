import { advise, applyChanges, improves, type Trial, trialOf } from '../../../sim/run/advice/index.js';
import type { ControlModule } from '../../../sim/run/controller/index.js';
import { type Advice, JobRun, jobOf } from '../../../sim/run/job/index.js';
import type { Scenario } from '../../../sim/run/setup/index.js';
import { GROUNDS, type Ground, heldOut, PLANTED, type Planted, plantedScenario } from './planted.js';

/** What the advice made of one planted cause in one program. */
export interface Told {
  readonly planted: string;
  readonly ground: string;
  readonly held_out: boolean;
  readonly named: boolean;
  /** Followed, on seeds that the advice did not try. */
  readonly improved: boolean;
  readonly contact: boolean;
  /** Of the first line; undefined: no advice was given. */
  readonly first: Advice | undefined;
}

/** Trouble beyond that of the program without the cause, in the cost of a trial: one goal missed. */
const TROUBLE = 1;
/** Seeds on which the advice is followed. */
const FOLLOWED = [101, 102, 103];
/** Enough for every trial on a machine with other work: what is told is not a matter of speed here. */
const TIME_MS = 120_000;

function finished(scenario: Scenario, module: ControlModule): JobRun {
  const run = new JobRun(jobOf(scenario), module);
  while (!run.finished) run.advance();
  return run;
}

const NOTHING: Planted = { name: 'nothing', causes: [] };

/** Undefined: the cause makes no trouble here. */
function told(planted: Planted, ground: Ground, seed: number, module: ControlModule): Told | undefined {
  const trial = (scenario: Scenario): Trial => trialOf(finished(scenario, module));
  const scenario = plantedScenario(planted, ground, seed);
  const run = finished(scenario, module);
  const quiet = trial(plantedScenario(NOTHING, ground, seed));
  if (trialOf(run).cost < quiet.cost + TROUBLE) return undefined;
  const [first] = advise(run, module, TIME_MS);
  const changes = first?.changes ?? [];
  const pairs = FOLLOWED.map((other) => {
    const before = { ...scenario, seed: other };
    return { before: trial(before), after: trial(applyChanges(before, changes)) };
  });
  return {
    planted: planted.name,
    ground: ground.name,
    held_out: heldOut(PLANTED.indexOf(planted)),
    named: first !== undefined && planted.causes.includes(first.cause),
    improved: changes.length > 0 && improves(pairs),
    contact: changes.length > 0 && pairs.some(({ after }) => after.contacts > 0),
    first,
  };
}

/** Planted causes of a list, each in the programs that are said for it. */
export const toldOf = (
  list: readonly Planted[],
  groundsOf: (planted: Planted) => readonly Ground[],
  module: ControlModule,
): Told[] =>
  list.flatMap((planted) =>
    groundsOf(planted).flatMap((ground) => told(planted, ground, 1 + GROUNDS.indexOf(ground), module) ?? []),
  );

/** `31 of 33 named, 32 improved, 0 end in contact`. */
export function ratesText(list: readonly Told[]): string {
  const count = (of: (each: Told) => boolean) => list.filter(of).length;
  const causes = new Set(list.map(({ planted }) => planted)).size;
  return (
    `${list.length} cuts of ${causes} causes: ${count(({ named }) => named)} named first, ` +
    `${count(({ improved }) => improved)} better when followed, ${count(({ contact }) => contact)} end in contact`
  );
}
