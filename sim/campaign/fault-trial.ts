import { FAULT_ROWS } from '../../firmware/wire/code-rows.js';
import { MODE_FOLLOW } from '../../firmware/wire/codes.gen.js';
import { OUTPUT_PERMIT, OUTPUT_TRIGGER } from '../../firmware/wire/layout.gen.js';
import type { FaultEffect, SingleFault } from '../electrical/index.js';
import { Judge, requirementContext } from '../judge/index.js';
import { type ControlModule, WasmController } from '../run/controller/index.js';
import { motionLimits, run } from '../run/loop/index.js';
import type { Setup } from '../run/setup/index.js';
import type { TraceBlock } from '../run/trace/index.js';
import { type Plan, parseProgram, planProgram } from '../world/motion/index.js';
import type { Fault, FaultKind } from '../world/plant/index.js';

/** When a part fails. */
export const MOMENTS = ['from power-up', 'during the cut'] as const;
export type Moment = (typeof MOMENTS)[number];

/** What came of a cut with one part failed, through the simulated chain and the control module. */
export interface TrialResult {
  readonly moment: Moment;
  /**
   * The box named a fault: `noticed` when every requirement was kept and the torch touched nothing, else `late`.
   * It named none: `harmless` when every requirement was kept and every quality goal met, `rougher` when a goal was
   * missed but every requirement was kept and nothing touched, else `unnoticed`.
   */
  readonly verdict: 'noticed' | 'late' | 'harmless' | 'rougher' | 'unnoticed';
  /** Name of the first fault; empty when there was none. */
  readonly fault: string;
  /** Time from the failure, or from the torch trigger when it came later, to the first fault, ms. */
  readonly after_ms: number | null;
  /** The motion permit was given with the fault there. */
  readonly permitted: boolean;
  readonly contacts: number;
  readonly least_standoff_mm: number | null;
  /** 99.9 % of the time in follow the error was within this. */
  readonly standoff_error_p999_mm: number | null;
  /** Requirements that were broken. */
  readonly broken: readonly string[];
}

/** A single fault, and what each cut with it came to. */
export interface FaultTrial {
  readonly fault: SingleFault;
  readonly results: readonly TrialResult[];
}

/** Present a few ticks after power-up, so that the world is there. */
const POWER_UP_S = 0.05;

/** The plant's name of what a fault does; a single part may do the same as another. */
const KINDS: Readonly<Record<FaultEffect, FaultKind>> = {
  'upper-open': 'resistor-top-open',
  'upper-short': 'resistor-top-short',
  'lower-open': 'resistor-bottom-open',
  'lower-short': 'resistor-bottom-short',
  'capacitor-open': 'filter-capacitor-open',
  'capacitor-short': 'shorted-capacitor',
  'lead-open': 'open-lead',
  'leads-exchanged': 'reversed-leads',
  'output-low': 'stuck-code',
  'output-high': 'stuck-code',
  'code-stuck': 'stuck-code',
};

/** The fault of the simulated chain that stands for a single fault of the circuit. @param at_s moment from power-up */
export function plantFault({ effect, bridged, code }: SingleFault, at_s: number): Fault {
  const kind = KINDS[effect];
  const value = kind === 'stuck-code' ? code : effect === 'upper-short' ? bridged : undefined;
  return { kind, at_s, ...(value !== undefined && { value }) };
}

/** A straight cut of 150 mm in the middle of the sheet, at the feed that the target is for. */
function trialPlan(setup: Setup): Plan {
  const { sheet_width_mm, sheet_height_mm } = setup.machine.table;
  const length_mm = Math.min(150, 0.7 * sheet_width_mm);
  const x_mm = (sheet_width_mm - length_mm) / 2;
  const feed = setup.box.target_feed_mm_s * 60;
  const text = `G21 G90 F${feed}\nG0 X${x_mm} Y${sheet_height_mm / 2}\nM3\nG1 X${x_mm + length_mm}\nM5\nG4 P1\nM2\n`;
  return planProgram(parseProgram(text, 'trial cut'), motionLimits(setup.machine));
}

/**
 * Tries every single fault of a divider in a straight cut through the simulated chain and the control module, at both
 * moments.
 * @param faults of the divider in the setup, as its data sheet lists them
 * @throws StandoffError when the setup is refused or the sheet is too small for the cut
 */
export function tryFaults(
  setup: Setup,
  faults: readonly SingleFault[],
  module: ControlModule,
  seed: number,
): FaultTrial[] {
  const plan = trialPlan(setup);
  const attempt = (fault: Fault | undefined) => runTrial(setup, plan, fault, module, seed);
  const sound = attempt(undefined);
  const middle_s = (sound.first_follow_ms + sound.last_follow_ms) / 2000;
  return faults.map((fault) => ({
    fault,
    results: MOMENTS.map((moment) => {
      const at_s = moment === 'from power-up' ? POWER_UP_S : middle_s;
      return judge(moment, at_s, attempt(plantFault(fault, at_s)));
    }),
  }));
}

class Watch {
  fault = 0;
  fault_ms = 0;
  first_trigger_ms = -1;
  first_follow_ms = -1;
  last_follow_ms = -1;
  permitted = false;

  readonly block = (block: TraceBlock): void => {
    for (let row = 0; row < block.count; row++) {
      const now_ms = block.first_tick + row;
      const digital_outputs = block.digital_outputs[row];
      if (digital_outputs & OUTPUT_TRIGGER && this.first_trigger_ms < 0) this.first_trigger_ms = now_ms;
      if (digital_outputs & OUTPUT_PERMIT) this.permitted = true;
      if (block.mode[row] === MODE_FOLLOW) {
        if (this.first_follow_ms < 0) this.first_follow_ms = now_ms;
        this.last_follow_ms = now_ms;
      }
      if (block.fault[row] !== 0 && this.fault === 0) {
        this.fault = block.fault[row];
        this.fault_ms = now_ms;
      }
    }
  };
}

type Trial = ReturnType<typeof runTrial>;

function runTrial(setup: Setup, plan: Plan, fault: Fault | undefined, module: ControlModule, seed: number) {
  const { box, machine } = setup;
  const world = { ...setup.world, faults: fault ? [fault] : [] };
  const judge = new Judge(requirementContext(box, { relay_release_ms: machine.firing.relay_release_ms }));
  const watch = new Watch();
  const controller = new WasmController(module);
  const outcome = run({ box, machine, world, plan, seed, controller }, [judge, watch]);
  const { fault: code, fault_ms, first_trigger_ms, first_follow_ms, last_follow_ms, permitted } = watch;
  const missed = judge.results().filter(({ kept }) => !kept);
  const broken = missed.filter(({ kind }) => kind === 'requirement');
  return {
    goals_met: missed.length === broken.length,
    code,
    fault_ms,
    first_trigger_ms,
    first_follow_ms,
    last_follow_ms,
    permitted,
    finished: outcome.ended === 'finished',
    figures: judge.figures.figures(),
    broken: broken.map(({ name }) => name),
  };
}

function judge(moment: Moment, at_s: number, trial: Trial): TrialResult {
  const { figures, code, goals_met } = trial;
  const kept = figures.contacts === 0 && trial.broken.length === 0;
  const named = kept ? 'noticed' : 'late';
  const unnamed = !(kept && trial.finished) ? 'unnoticed' : goals_met ? 'harmless' : 'rougher';
  const from_ms = Math.max(at_s * 1000, moment === 'from power-up' ? trial.first_trigger_ms : 0);
  return {
    moment,
    verdict: code !== 0 ? named : unnamed,
    fault: code === 0 ? '' : FAULT_ROWS[code].name,
    after_ms: code === 0 ? null : Math.max(0, Math.round(trial.fault_ms - from_ms)),
    permitted: trial.permitted,
    contacts: figures.contacts,
    least_standoff_mm: figures.least_standoff_mm,
    standoff_error_p999_mm: figures.standoff_error_p999_mm,
    broken: trial.broken,
  };
}
