import { Random } from '../../sim/base/index.js';
import { exampleSetup, type Setup } from '../../sim/run/setup/index.js';

/** A stream of its own, far from those of the world. */
const STREAM = 7121;
/** The steepest wave, mm/mm. */
const STEEPEST_WAVE = 0.1;
/** A longer arc than this over missing metal goes out, whatever holds the torch, mm. */
const LONGEST_CROSSING_MM = 10;

/** Where the example cuts, mm: the highest of a plane lies at a corner of it. */
const CUT_X_MM = [30, 602];
const CUT_Y_MM = [30, 262];
/** Z never goes above where the box took it over: above the sheet it needs pierce height, a stroke, and room for heat, mm. */
const ROOM_MM = 3 + 1.5 + 1;

/** Above what a crossing adds to the highest of these arcs. */
const WINDOW = { arc_high_V: 216 };

type Part = Readonly<Record<string, number | boolean>>;

function setupOf(box: Part, world: Readonly<Record<string, Part>>): Setup {
  const start = exampleSetup();
  const parts = Object.entries(world).map(([name, part]) => [
    name,
    { ...(start.world[name as 'arc'] as unknown as Part), ...part },
  ]);
  return {
    box: { ...start.box, ...WINDOW, ...box } as Setup['box'],
    machine: start.machine,
    world: { ...start.world, ...Object.fromEntries(parts) } as Setup['world'],
  };
}

/** How high the sheet can lie under the example's cuts, mm above the datum. */
function highest_mm({ world: { sheet } }: Setup): number {
  const corners = CUT_X_MM.flatMap((x_mm) => CUT_Y_MM.map((y_mm) => sheet.tilt_x * x_mm + sheet.tilt_y * y_mm));
  return Math.max(...corners) + sheet.wave_mm;
}

/** Whether the sheet can leave Z no room below where the example has the torch taken over: 0.05 along 600 mm alone is 30 mm. */
export const liesTooHigh = (setup: Setup): boolean =>
  highest_mm(setup) + ROOM_MM > exampleSetup().machine.axis.z_start_mm;

/** A person takes the torch over above such a sheet; the touch-off then looks as far down as Z may go. */
function takenOverAbove(setup: Setup): Setup {
  if (!liesTooHigh(setup)) return setup;
  const { box, machine, world } = setup;
  const axis = { ...machine.axis, z_start_mm: highest_mm(setup) + ROOM_MM };
  return { box: { ...box, seek_travel_mm: box.travel_mm }, machine: { ...machine, axis }, world };
}

/**
 * A world that disagrees with what the box is told: 118 V, 8 V and 50 ms of feed effect, and a slope within 30 %.
 * @param restless the sheet also grows by up to 0.1 mm/s under the arc and gives by up to 0.08 mm/N, instead of 0.03 and 0.04
 * @param above the torch is taken over above a sheet that lies too high for the example
 */
export function hardWorld(seed: number, restless: boolean, above = true): Setup {
  const random = new Random(seed, STREAM);
  const between = (least: number, most: number) => least + (most - least) * random.uniform();
  const slope_V_per_mm = between(2, 8);
  const wave_length_mm = between(60, 1000);
  const steepest_mm = (STEEPEST_WAVE * wave_length_mm) / (2 * Math.PI);
  const arc = {
    voltage_at_cut_V: 118 + between(-10, 10),
    slope_V_per_mm,
    feed_effect_V: between(0, 16),
    feed_effect_ms: between(25, 110),
    crossing_V: Math.min(between(5, 45), LONGEST_CROSSING_MM * slope_V_per_mm),
    pierce_excess_V: between(21, 39),
    pierce_decay_ms: between(80, 250),
    wear_V_per_start: between(0, 0.05),
    wear_V_per_min: between(0, 0.25),
  };
  const sheet = {
    tilt_x: 0.02 + between(-0.03, 0.03),
    tilt_y: between(-0.03, 0.03),
    wave_length_mm,
    wave_mm: between(0, Math.min(2.5, steepest_mm)),
    wave_direction_deg: between(0, 360),
  };
  const moving = { heat_growth_mm_per_s: between(0, 0.1), compliance_mm_per_N: between(0, 0.08) };
  const noise = {
    white_V_rms_per_tick: between(0.05, 1.2),
    coloured_V_rms: between(0, 0.3),
    ripple_V_peak: between(0, 6),
    inverter_V_peak: between(0, 5),
    impulse_rate_per_s: between(0, 10),
    impulse_V: between(20, 200),
  };
  const told_V_per_mm = slope_V_per_mm * between(0.7, 1.3);
  const setup = setupOf(
    { arc_slope_V_per_mm: told_V_per_mm },
    { arc, sheet: { ...sheet, ...(restless ? moving : {}) }, noise },
  );
  return above ? takenOverAbove(setup) : setup;
}

/** The example with an arc of another voltage than told. */
export const shiftedExample = (voltage_at_cut_V: number): Setup => setupOf({}, { arc: { voltage_at_cut_V } });
