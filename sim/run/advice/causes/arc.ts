import {
  ABOVE_V,
  about,
  above,
  boxRemedy,
  type Case,
  quantity,
  type Remedy,
  repair,
  type Suspicion,
} from './suspicion.js';

/** The arc, and what is read of it: what no parameter of the box is to blame for. */
export const arcAndNoise = (of: Case): Suspicion[] =>
  [strikes, pierce, doubleArcs, jumps, pickup, whiteNoise, slowNoise].flatMap((rule) => rule(of));

function strikes({ setup }: Case): Suspicion[] {
  const chance = setup.world.arc.strike_fail_chance;
  return above(
    chance,
    0.02,
    'strike-fails',
    [
      `Of 100 strikes ${quantity(100 * chance, '')} end with the pilot arc (world.arc.strike_fail_chance).`,
      'At the table the pilot burns and the arc does not go over to the work.',
    ],
    () => [
      repair(
        setup,
        'Look at the work clamp, at electrode and nozzle, and at the air: dry, and at the pressure of the data plate while it flows.',
        { 'world.arc.strike_fail_chance': 0 },
      ),
      boxRemedy(setup, { strike_retries: 5 }),
    ],
  );
}

function pierce({ setup }: Case): Suspicion[] {
  const { box, world } = setup;
  const { pierce_excess_V, pierce_decay_ms, slope_V_per_mm } = world.arc;
  const left_mm = (pierce_excess_V * Math.exp(-box.pierce_ms / pierce_decay_ms)) / slope_V_per_mm;
  const needed_ms = pierce_decay_ms * Math.log(pierce_excess_V / (0.1 * slope_V_per_mm));
  // At the transfer all of it stands on top of the arc.
  const first_V = Math.ceil(box.target_V + world.arc.feed_effect_V + pierce_excess_V + ABOVE_V);
  return above(
    left_mm,
    0.3,
    'pierce-time',
    [
      `After ${quantity(box.pierce_ms, 'ms')} (pierce_ms) the pierce still adds ${about(left_mm * slope_V_per_mm, 'V')} to the arc, as much as ${about(left_mm, 'mm')} of standoff.`,
      'At the table the cut begins before the sheet is through, and sparks come up.',
    ],
    () => [
      boxRemedy(setup, {
        pierce_ms: Math.ceil(needed_ms / 100) * 100,
        arc_high_V: Math.max(box.arc_high_V, first_V),
      }),
    ],
  );
}

function doubleArcs({ setup }: Case): Suspicion[] {
  const { double_arc_V, double_arcs_per_s } = setup.world.arc;
  return above(
    double_arc_V * double_arcs_per_s,
    0.5,
    'double-arcs',
    [
      `A double arc burns through the nozzle ${quantity(double_arcs_per_s, 'times a second')}, and the voltage drops by ${quantity(double_arc_V, 'V')} (world.arc.double_arc_V).`,
      'At the table the nozzle is eaten out of round, and the voltage shown drops for moments.',
    ],
    () => [
      repair(
        setup,
        'Put in a new nozzle of the size that belongs to the current, keep it off the sheet, and look at the air.',
        { 'world.arc.double_arc_V': 0 },
      ),
    ],
  );
}

function jumps({ setup }: Case): Suspicion[] {
  const { jump_V, jump_rate_per_s } = setup.world.arc;
  return above(
    jump_V * Math.min(1, jump_rate_per_s),
    3,
    'arc-jumps',
    [
      `The arc jumps by ${quantity(jump_V, 'V')}, ${quantity(jump_rate_per_s, 'times a second')} (world.arc.jump_V).`,
      'At the table the sound of the arc crackles, and the voltage shown jumps at steady height.',
    ],
    () => [
      repair(
        setup,
        'Put in a new electrode and nozzle, clean the work clamp and its place on the sheet, and look at the air.',
        { 'world.arc.jump_V': 0 },
      ),
    ],
  );
}

const SHIELD =
  'Lead the sensing wires as a twisted pair, away from torch and mains leads, with the shield earthed at one end.';

function pickup({ setup }: Case): Suspicion[] {
  const { pickup_V_peak } = setup.world.noise;
  return above(
    pickup_V_peak,
    3,
    'pickup',
    [
      `The sensing leads pick up ${quantity(pickup_V_peak, 'V')} of the mains (world.noise.pickup_V_peak).`,
      'At the table the box shows volts with the supply off, and less when the leads lie elsewhere.',
    ],
    () => [repair(setup, SHIELD, { 'world.noise.pickup_V_peak': 0 })],
  );
}

/** As a supply with a contact of its own says that an arc burns, where the voltage is too restless to say it. */
const ownContact = ({ setup }: Case): readonly Remedy[] => {
  const { box } = setup;
  const wire = boxRemedy(setup, { supply_contact: 1 }, "Wire the supply's own arc contact, if it has one.");
  return box.supply_contact === 1 ? [] : [wire];
};

function whiteNoise(of: Case): Suspicion[] {
  const { setup } = of;
  const { noise, arc } = setup.world;
  const volts = noise.white_V_rms_per_tick;
  return above(
    volts,
    1.5,
    'noise',
    [
      `The arc is noisy: ${quantity(volts, 'V')} rms from one millisecond to the next, as much as ${about(volts / arc.slope_V_per_mm, 'mm')} of standoff (world.noise.white_V_rms_per_tick).`,
      'At the table the voltage shown flickers although the torch stands still, more while the arc burns.',
    ],
    () => [
      repair(setup, SHIELD, { 'world.noise.white_V_rms_per_tick': 0.4 }),
      ...ownContact(of),
      boxRemedy(setup, { smoothing_ms: 2 * setup.box.smoothing_ms }),
    ],
  );
}

function slowNoise(of: Case): Suspicion[] {
  const { setup } = of;
  const { noise, arc } = setup.world;
  const volts = noise.coloured_V_rms;
  return above(
    volts / arc.slope_V_per_mm,
    0.05,
    'noise',
    [
      `The arc wanders by ${quantity(volts, 'V')} rms, as much as ${about(volts / arc.slope_V_per_mm, 'mm')} of standoff (world.noise.coloured_V_rms).`,
      'At the table the torch rises and sinks slowly over flat sheet, with the voltage shown on its target.',
    ],
    () => [
      repair(
        setup,
        'Look at the air (pressure and water), the work clamp and the consumables: the arc itself wanders.',
        { 'world.noise.coloured_V_rms': 0.1 },
      ),
      ...ownContact(of),
    ],
  );
}
