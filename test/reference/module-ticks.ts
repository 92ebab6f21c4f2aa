import {
  INPUT_BREAKAWAY,
  INPUT_HOLD,
  INPUT_OVERRUN,
  INPUT_STOP_CHAIN,
  INPUT_TOUCH,
  OUTPUT_FAULT,
  OUTPUT_MODE,
} from '../../firmware/wire/layout.gen.js';
import { PARAMETER_ROWS } from '../../firmware/wire/parameter-rows.js';
import { Random } from '../../sim/base/index.js';
import { loadControlModule } from '../../sim/run/controller/index.js';
import { ArbitraryInputs, motionLimits, Runner, setParameters } from '../../sim/run/loop/index.js';
import { type Box, exampleSetup } from '../../sim/run/setup/index.js';
import { EXAMPLE_NAME, EXAMPLE_PROGRAM, parseProgram, planProgram } from '../../sim/world/motion/index.js';
import { amount } from '../support/volume.js';
import { type Recording, RecordingController } from './replay.js';

const CUTS = amount(10, 3, 3);
const CUT_TICKS = 10_000;
const NONSENSE_TICKS = 10_000;
/** A disturbed cut may end early; arbitrary inputs make it up. */
export const TICKS = amount(100_000, 40_000, 40_000);
const HIGHEST_COUNT = 4095;
/** Drawn about their defaults; the others decide whether the example can be cut at all. */
const DRAWN = ['gain_p_per_s', 'gain_i_per_s2', 'smoothing_ms', 'feed_filter_ms', 'feed_effect_ms', 'slope_path_mm'];

/** Ticks from several power-ups on, each with parameters of its own, and what came up in them. */
export interface ModuleTicks {
  readonly recordings: readonly Recording[];
  readonly ticks: number;
  readonly modes: ReadonlySet<number>;
  readonly faults: ReadonlySet<number>;
}

/** What goes wrong for a while in one cut each: with the readings, or with a line. */
const TROUBLES: readonly ((controller: RecordingController) => void)[] = [
  ({ readings }) => readings.fill(HIGHEST_COUNT),
  ({ readings }) => readings.fill(0),
  ({ readings }) => readings.fill(1200),
  (controller) => {
    controller.digital_inputs &= ~INPUT_STOP_CHAIN;
  },
  (controller) => {
    controller.digital_inputs &= ~INPUT_BREAKAWAY;
  },
  (controller) => {
    controller.digital_inputs |= INPUT_OVERRUN;
  },
  (controller) => {
    controller.digital_inputs ^= INPUT_TOUCH;
  },
];
const TROUBLE_TICKS = 1500;

/** A cut whose inputs somebody disturbs now and then (wild readings, wrong steps, holds), and in which something fails. */
class WatchedController extends RecordingController {
  private ticks = 0;
  private readonly trouble_at: number;
  private readonly trouble: (typeof TROUBLES)[number];

  constructor(
    private readonly random: Random,
    private readonly seen: { readonly modes: Set<number>; readonly faults: Set<number> },
    private readonly disturb: boolean,
  ) {
    super(loadControlModule());
    this.trouble_at = Math.floor(random.between(3000, 9000));
    this.trouble = TROUBLES[Math.floor(random.between(0, TROUBLES.length))];
  }

  override tick(): void {
    const { random, seen } = this;
    if (this.disturb) {
      if (random.chance(0.01)) this.readings[random.next_u32() & 7] = random.next_u32();
      if (random.chance(0.01)) this.x_steps += Math.floor(random.between(-9, 9));
      if (random.chance(0.02)) this.digital_inputs |= INPUT_HOLD;
      if (this.ticks >= this.trouble_at && this.ticks < this.trouble_at + TROUBLE_TICKS) this.trouble(this);
    }
    this.ticks++;
    super.tick();
    seen.modes.add(this.output.integers[OUTPUT_MODE / 4]);
    seen.faults.add(this.output.integers[OUTPUT_FAULT / 4]);
  }
}

function drawnBox(random: Random): Box {
  const { box } = exampleSetup();
  const drawn = DRAWN.map((name) => {
    const { default: usual } = PARAMETER_ROWS.find((row) => row.name === name)!;
    return [name, usual * random.between(0.8, 1.2)];
  });
  return { ...box, ...Object.fromEntries(drawn) };
}

function cut(random: Random, controller: WatchedController, seed: number): Recording {
  const { machine, world } = exampleSetup();
  const plan = planProgram(parseProgram(EXAMPLE_PROGRAM, EXAMPLE_NAME), motionLimits(machine));
  const runner = new Runner({ box: drawnBox(random), machine, world, plan, seed, controller });
  while (runner.tick < CUT_TICKS && !runner.finished) runner.runBlock(Math.min(1000, CUT_TICKS - runner.tick));
  return controller.recording();
}

/** Inputs without sense. */
function arbitrary(random: Random, controller: WatchedController): Recording {
  setParameters(controller, drawnBox(random));
  const arbitrary = new ArbitraryInputs(random);
  for (let tick = 0; tick < NONSENSE_TICKS; tick++) {
    arbitrary.draw(controller);
    controller.tick();
  }
  return controller.recording();
}

/** So many ticks at least, the same ones every time. */
export function recordModuleTicks(): ModuleTicks {
  const seen = { modes: new Set<number>(), faults: new Set<number>() };
  const recordings: Recording[] = [];
  let ticks = 0;
  for (let seed = 1; ticks < TICKS; seed++) {
    const random = new Random(seed);
    // The first cut is left in peace.
    const controller = new WatchedController(random, seen, seed > 1 && seed <= CUTS);
    const recording = seed <= CUTS ? cut(random, controller, seed) : arbitrary(random, controller);
    recordings.push(recording);
    ticks += recording.hashes.length * 100;
  }
  return { recordings, ticks, ...seen };
}

/** The recordings as replay.c reads them: for each, its ticks, its parameters and its input blocks. */
export function replayFile(recordings: readonly Recording[]): Buffer {
  return Buffer.concat(
    recordings.flatMap(({ hashes, parameters, inputs }) => {
      const ticks = Buffer.alloc(4);
      ticks.writeUInt32LE(hashes.length * 100);
      return [ticks, Buffer.from(parameters.buffer), inputs];
    }),
  );
}

/** What replay.c has to say about them. */
export const replayAnswer = (recordings: readonly Recording[]): string[] =>
  recordings.flatMap(({ hashes }) => hashes.map((hash) => (hash >>> 0).toString(16).padStart(8, '0')));
