import { type Budget, budgetOf } from './budget.js';
import { type Tap, tapOf } from './circuit.js';
import { type Distance, distancesFor } from './distances.js';
import { type SingleFault, singleFaults } from './faults.js';
import { type FilterFigures, filterOf, type Sampling, samplingOf } from './filter.js';
import type { BenchMachine, Use } from './machine.js';
import { type ListedPart, partsList } from './parts-list.js';
import { type Scale, scaleOf } from './scale.js';
import { missedWishes, type WishFigures, wishFigures } from './search.js';
import { type Stress, stressesOf, type Touch, touchOf } from './stress.js';
import type { Wishes, WishName } from './wishes.js';

/** All that is computed about one design. */
export interface DesignSheet {
  readonly tap: Tap;
  /** Share of the tap's current that the isolation stage takes, %. */
  readonly load_percent: number;
  readonly scale: Scale;
  readonly budget: Budget;
  readonly filter: FilterFigures;
  readonly sampling: Sampling;
  readonly stresses: readonly Stress[];
  readonly touch: Touch;
  readonly distances: readonly Distance[];
  readonly faults: readonly SingleFault[];
  readonly parts: readonly ListedPart[];
  readonly wishes: Wishes;
  readonly figures: WishFigures;
  readonly missed: readonly WishName[];
  /** In words: what a limit or a rating is not kept by; empty when every one is. */
  readonly findings: readonly string[];
}

/** The data sheet of a design. */
export function designSheet(machine: BenchMachine, use: Use, wishes: Wishes): DesignSheet {
  const figures = wishFigures(machine, use);
  const missed = missedWishes(figures, wishes);
  const scale = scaleOf(machine);
  const sampling = samplingOf(machine);
  const stresses = stressesOf(machine);
  const { supply, isolation, divider } = machine;
  const findings = [
    ...stresses
      .filter(({ kept }) => !kept)
      .map(({ part, fault }) => `${part} is loaded beyond its rating (worst case: ${fault})`),
    ...(scale.least_full_scale_V < supply.no_load_V ? ['the no-load voltage is beyond the range that is read'] : []),
    ...(scale.least_full_scale_V < use.highest_V ? ['the working range is beyond the range that is read'] : []),
    ...(sampling.needed_us > sampling.given_us ? ['a sample of the converter does not settle in its time'] : []),
    ...(supply.no_load_V > isolation.working_V ? ['the no-load voltage is above the barrier’s working voltage'] : []),
    ...(divider.top_resistors < 4 ? ['a lead is behind fewer than two protective resistors'] : []),
  ];
  return {
    tap: tapOf(machine),
    load_percent: figures.load_percent,
    scale,
    budget: budgetOf(machine, use),
    filter: filterOf(machine, use),
    sampling,
    stresses,
    touch: touchOf(machine),
    distances: distancesFor(supply.no_load_V),
    faults: singleFaults(machine, use.target_V),
    parts: partsList(machine),
    wishes,
    figures,
    missed,
    findings,
  };
}
