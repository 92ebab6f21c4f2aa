/** The module tick for tick in a second engine: wabt's wasm-interp, which shares no code with the first. */
import { expect, it } from 'vitest';
import { MODE_FAULT, MODE_FOLLOW, MODE_HOLD, MODE_REST, MODE_SEEK } from '../../firmware/wire/codes.gen.js';
import { INPUT_HOLD, OUTPUT_MODE, OUTPUT_PERMIT } from '../../firmware/wire/layout.gen.js';
import { PARAMETER_ROWS } from '../../firmware/wire/parameter-rows.js';
import { Random } from '../../sim/base/index.js';
import { loadControlModule } from '../../sim/run/controller/index.js';
import { ArbitraryInputs, motionLimits, Runner } from '../../sim/run/loop/index.js';
import { exampleSetup } from '../../sim/run/setup/index.js';
import { EXAMPLE_NAME, EXAMPLE_PROGRAM, parseProgram, planProgram } from '../../sim/world/motion/index.js';
import { amount } from '../support/volume.js';
import { type Recording, RecordingController, replayHere, replayInterpreted, replayModule } from './replay.js';
import { describeAgainst, WASM_INTERP } from './support.js';

const CUT_TICKS = amount(20_000, 12_000);
const RANDOM_TICKS = 6000;
const DISTURBED_TICKS = 8000;
/** Odd fractions where the arithmetic of a cut would otherwise see round numbers. */
const DRAWN = [
  'gain_p_per_s',
  'gain_i_per_s2',
  'smoothing_ms',
  'tracking_ms',
  'feed_filter_ms',
  'feed_effect_ms',
  'slope_path_mm',
  'z_acceleration_mm_s2',
];

interface Recorded {
  readonly recording: Recording;
  readonly modes: ReadonlySet<number>;
}

/** The first seconds of the example cut: touch-off, strike, small holes, corners. */
function recordCut(controller: RecordingController, ticks: number, drawn: Readonly<Record<string, number>>): Recorded {
  const { box, machine, world } = exampleSetup();
  const plan = planProgram(parseProgram(EXAMPLE_PROGRAM, EXAMPLE_NAME), motionLimits(machine));
  const runner = new Runner({ box: { ...box, ...drawn }, machine, world, plan, seed: 7, controller });
  const modes = new Set<number>();
  while (runner.tick < ticks) {
    runner.runBlock();
    for (const mode of runner.block.mode.subarray(0, runner.block.count)) modes.add(mode);
  }
  return { recording: controller.recording(), modes };
}

/** A hand that disturbs the inputs of a cut: wild readings, wrong steps, holds. */
class DisturbedController extends RecordingController {
  private readonly random: Random;

  constructor(random: Random) {
    super(loadControlModule());
    this.random = random;
  }

  override tick(): void {
    const { random } = this;
    if (random.chance(0.02)) this.readings[random.next_u32() & 7] = random.next_u32();
    // Before the motion permit such steps end the cut.
    if ((this.digital_outputs & OUTPUT_PERMIT) !== 0) {
      if (random.chance(0.02)) this.x_steps += Math.floor(random.between(-9, 9));
      if (random.chance(0.3)) this.y_steps = Math.floor(random.between(-2, 2));
    }
    if (random.chance(0.1)) this.digital_inputs |= INPUT_HOLD;
    super.tick();
  }
}

/** Lines that flip at random, readings and steps without sense. */
function recordArbitrary(seed: number): Recorded {
  const random = new Random(seed);
  const controller = new RecordingController(loadControlModule());
  const modes = new Set<number>();
  const arbitrary = new ArbitraryInputs(random);
  for (let tick = 0; tick < RANDOM_TICKS; tick++) {
    arbitrary.draw(controller);
    controller.tick();
    modes.add(controller.output.integers[OUTPUT_MODE / 4]);
  }
  return { recording: controller.recording(), modes };
}

describeAgainst(WASM_INTERP, 'wasm-interp gives the same outputs and state, bit for bit', (wasm_interp) => {
  const same = ({ recording }: Recorded) => {
    const bytes = replayModule(recording);
    // Not one parameter is refused; then a hash for each hundred ticks.
    const expected = [0, ...recording.hashes];
    expect(replayHere(bytes)).toEqual(expected);
    const began = performance.now();
    expect(replayInterpreted(wasm_interp, bytes)).toEqual(expected);
    const ticks_per_s = (recording.hashes.length * 100 * 1000) / (performance.now() - began);
    console.info(`${recording.hashes.length * 100} ticks, ${Math.round(ticks_per_s)} ticks/s in wasm-interp`);
  };

  it(`in the example cut, ${CUT_TICKS} ticks`, () => {
    const recorded = recordCut(new RecordingController(loadControlModule()), CUT_TICKS, {});
    for (let mode = MODE_REST; mode <= MODE_HOLD; mode++) expect(recorded.modes, `mode ${mode}`).toContain(mode);
    expect(recorded.recording.hashes).toHaveLength(CUT_TICKS / 100);
    same(recorded);
  });

  it.each(amount([1, 2], [1]))('with inputs that make no sense, seed %i', (seed) => {
    const recorded = recordArbitrary(seed);
    for (const mode of [MODE_REST, MODE_SEEK, MODE_FAULT]) expect(recorded.modes).toContain(mode);
    same(recorded);
  });

  it.each(amount([3, 4], [3]))('in a disturbed cut with parameters drawn about their defaults, seed %i', (seed) => {
    const random = new Random(seed);
    const drawn = Object.fromEntries(
      DRAWN.map((name) => {
        const { default: usual } = PARAMETER_ROWS.find((row) => row.name === name)!;
        return [name, usual * random.between(0.8, 1.2)];
      }),
    );
    const recorded = recordCut(new DisturbedController(random), DISTURBED_TICKS, drawn);
    for (const mode of [MODE_FOLLOW, MODE_HOLD]) expect(recorded.modes, `mode ${mode}`).toContain(mode);
    same(recorded);
  });
});
