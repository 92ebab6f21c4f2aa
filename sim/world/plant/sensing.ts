// One part of the world, a file: from the arc's voltage to the converter's readings.
import { Random, READINGS_PER_TICK } from '../../base/index.js';
import type { MachineConfig, WorldConfig } from './config.gen.js';
import { type Faults, faultNumber } from './faults.js';
import { type Noise, WAVE } from './noise.js';
import { lagShare, SIGNAL, STREAM } from './signals.js';

// The engine folds constants of this module but not imported ones, hence the local names.
const AT = SIGNAL;
const PLACE = WAVE;
const READINGS = READINGS_PER_TICK;

const READING_MS = 0.1;
/** Less than this is nothing: a lag that faded into denormal numbers would slow the processor down a hundredfold. */
const TINY = 1e-18;
/** Three bytes, each uniform on 0…255, have variance 3·(256² − 1)/12; its root is the inverse of this. */
const THREE_BYTES = 1 / Math.sqrt((3 * (256 * 256 - 1)) / 12);
const ONE_BYTE = 1 / Math.sqrt((256 * 256 - 1) / 12);
const MIDDLE_OF_THREE = 1.5 * 255;
const MIDDLE_OF_ONE = 0.5 * 255;
/** Mean length of an interruption by an intermittent contact, ms (assumption). */
const INTERRUPTION_MS = 10;

const OPEN_LEAD = faultNumber('open-lead');
const REVERSED = faultNumber('reversed-leads');
const CAPACITOR_SHORT = faultNumber('shorted-capacitor');
const CAPACITOR_OPEN = faultNumber('filter-capacitor-open');
const STUCK_CODE = faultNumber('stuck-code');
const INTERMITTENT = faultNumber('intermittent-contact');
const TOP_OPEN = faultNumber('resistor-top-open');
const TOP_SHORT = faultNumber('resistor-top-short');
const BOTTOM_OPEN = faultNumber('resistor-bottom-open');
const BOTTOM_SHORT = faultNumber('resistor-bottom-short');
const DEAD = faultNumber('dead-converter');

/** Places of the loop's coefficients. */
const K = {
  tap_per_V: 0,
  white: 1,
  share: 2,
  isolation_share: 3,
  isolation_keep: 4,
  isolation_add: 5,
  counts_per_V: 6,
  zero: 7,
  converter_noise: 8,
  most: 9,
  ratio: 10,
  inverter: 11,
} as const;
const K_COUNT = 12;

/**
 * From the arc to converter counts at 10 kHz: noise at the arc, divider, RC, isolation stage, converter.
 * Within a tick the arc voltage goes straight from its old to its new value; each stage holds its input
 * for one reading (α = 1 − e^(−T/τ), from a series at setup).
 */
export class Sensing {
  /** Coefficients of the readings' loop, by `K`; they change only with the faults. */
  private readonly coefficients = new Float64Array(K_COUNT);
  /** Voltage at the tap and behind the isolation stage. */
  private readonly stages = new Float64Array(2);
  /** State of sfc32 as in sim/base's Random, kept here so that the loop can hold it in local variables. */
  private readonly generator = new Int32Array(4);
  /** Volts at the tap for one volt at the arc, with every part sound. */
  private readonly sound_tap_per_V: number;
  private lead = 1;
  private readonly contact: Random;
  private interruption_chance = 0;
  private forced_code = -1;
  private readonly machine: MachineConfig;
  private readonly world: WorldConfig;

  /** @param readings where the ten readings of each millisecond go; before the first one, what 0 V reads */
  constructor(
    machine: MachineConfig,
    world: WorldConfig,
    seed: number,
    readonly readings: Uint16Array,
  ) {
    readings.fill(machine.converter.zero_counts);
    this.machine = machine;
    this.world = world;
    const random = new Random(seed, STREAM.reading);
    for (let n = 0; n < 3; n++) this.generator[n] = random.next_u32();
    this.contact = new Random(seed, STREAM.contact);
    this.sound_tap_per_V = 1 / (machine.divider.ratio * (1 + machine.divider.gain_error));
    this.connect(machine.divider.rc_ms, this.sound_tap_per_V);
  }

  /** Take up the faults that are present now. */
  apply(faults: Faults): void {
    const { present } = faults;
    const { ratio, top_resistors, rc_ms } = this.machine.divider;
    let tap_per_V = this.sound_tap_per_V;
    let filter_ms = rc_ms;
    if (present[TOP_SHORT] === 1) {
      const shorted = Math.min(top_resistors, Math.round(faults.value[TOP_SHORT]));
      tap_per_V = 1 / (1 + ((ratio - 1) * (top_resistors - shorted)) / top_resistors);
    }
    if (present[BOTTOM_OPEN] === 1) {
      tap_per_V = 1;
      // The capacitor now charges through the upper part alone, which is (ratio − 1) lower resistors; the
      // two in parallel were (ratio − 1)/ratio of one, so the time constant grows by the ratio.
      filter_ms = rc_ms * ratio;
    }
    if (present[CAPACITOR_OPEN] === 1) filter_ms = 0;
    if (present[REVERSED] === 1) tap_per_V = -tap_per_V;
    const no_lead = present[OPEN_LEAD] === 1 || present[TOP_OPEN] === 1;
    if (no_lead || present[BOTTOM_SHORT] === 1 || present[CAPACITOR_SHORT] === 1) tap_per_V = 0;
    if (present[CAPACITOR_SHORT] === 1) filter_ms = 0;
    this.connect(filter_ms, tap_per_V);
    this.interruption_chance = present[INTERMITTENT] === 1 ? faults.value[INTERMITTENT] / 1000 : 0;
    this.lead = 1;
    this.forced_code = -1;
    if (present[STUCK_CODE] === 1) {
      this.forced_code = Math.max(0, Math.min(this.coefficients[K.most], Math.round(faults.value[STUCK_CODE])));
    }
    if (present[DEAD] === 1) this.forced_code = 0;
  }

  /**
   * The ten readings of one millisecond.
   * @param live 1 while an arc or pilot burns or the supply stands at no load, 0 when the torch is dead:
   * only a live torch carries white, slow and ripple noise; impulses come from elsewhere.
   */
  take(signals: Float64Array, live: number, noise: Noise): void {
    if (this.interruption_chance > 0) this.interrupt();
    if (this.forced_code < 0) {
      const dead = live === 0 && noise.impulsive === 0 && this.stages[0] === 0;
      if (dead && signals[AT.before_V] === 0 && signals[AT.true_V] === 0) this.idle(signals, noise);
      else this.convert(signals, live * this.lead, this.lead, noise);
    } else this.readings.fill(this.forced_code);
  }

  private convert(signals: Float64Array, live: number, lead: number, noise: Noise): void {
    const { readings, coefficients, stages, generator } = this;
    const { impulse_V, waves } = noise;
    const gain = lead * coefficients[K.tap_per_V];
    const live_gain = live * coefficients[K.tap_per_V];
    const white = live * coefficients[K.white];
    const inverter_gain = live * coefficients[K.inverter];
    const before = signals[AT.before_V] + live * signals[AT.slow_before_V];
    const after = signals[AT.true_V] + live * signals[AT.slow_V];
    const rise = ((after - before) * gain) / READINGS;
    let input = before * gain - white * MIDDLE_OF_THREE;
    const share = coefficients[K.share];
    const keep = 1 - share;
    const isolation_share = coefficients[K.isolation_share];
    const isolation_keep = coefficients[K.isolation_keep];
    const isolation_add = coefficients[K.isolation_add];
    const counts_per_V = coefficients[K.counts_per_V];
    const zero = coefficients[K.zero];
    const converter_noise = coefficients[K.converter_noise];
    const most = coefficients[K.most] | 0;
    let tap_V = stages[0];
    let isolated_V = stages[1];
    let a = generator[0];
    let b = generator[1];
    let c = generator[2];
    let counter = generator[3];
    let ripple = waves[PLACE.rectifier];
    let ripple_before = waves[PLACE.rectifier_before];
    const ripple_twice_cosine = waves[PLACE.rectifier_twice_cosine];
    let inverter = waves[PLACE.inverter];
    let inverter_before = waves[PLACE.inverter_before];
    const inverter_twice_cosine = waves[PLACE.inverter_twice_cosine];
    for (let n = 0; n < READINGS; n++) {
      const bits = (((a + b) | 0) + counter) | 0;
      counter = (counter + 1) | 0;
      a = b ^ (b >>> 9);
      b = (c + (c << 3)) | 0;
      c = (((c << 21) | (c >>> 11)) + bits) | 0;
      input += rise;
      const three_bytes = (bits & 255) + ((bits >>> 8) & 255) + ((bits >>> 16) & 255);
      const ripple_next = ripple_twice_cosine * ripple - ripple_before;
      ripple_before = ripple;
      ripple = ripple_next;
      const inverter_next = inverter_twice_cosine * inverter - inverter_before;
      inverter_before = inverter;
      inverter = inverter_next;
      const arc = input + white * three_bytes + live_gain * ripple + gain * impulse_V[n];
      tap_V = keep * tap_V + share * arc;
      isolated_V = isolation_keep * isolated_V + (isolation_share * tap_V + isolation_add);
      const own = zero + converter_noise * (bits >>> 24) + inverter_gain * inverter;
      const counts = (counts_per_V * isolated_V + own) | 0;
      readings[n] = Math.max(0, Math.min(most, counts));
    }
    waves[PLACE.rectifier] = ripple;
    waves[PLACE.rectifier_before] = ripple_before;
    waves[PLACE.inverter] = inverter;
    waves[PLACE.inverter_before] = inverter_before;
    generator[0] = a;
    generator[1] = b;
    generator[2] = c;
    generator[3] = counter;
    stages[0] = tap_V > TINY || tap_V < -TINY ? tap_V : 0;
    stages[1] = isolated_V > TINY || isolated_V < -TINY ? isolated_V : 0;
    signals[AT.sensed_V] = tap_V * coefficients[K.ratio];
  }

  /**
   * As `convert` where nothing is at the tap: bit for bit the same readings from half of the arithmetic. The torch is dead
   * in two of three ticks of a campaign.
   */
  private idle(signals: Float64Array, noise: Noise): void {
    const { readings, coefficients, stages, generator } = this;
    const { waves } = noise;
    const isolation_keep = coefficients[K.isolation_keep];
    const isolation_add = coefficients[K.isolation_add];
    const counts_per_V = coefficients[K.counts_per_V];
    const zero = coefficients[K.zero];
    const converter_noise = coefficients[K.converter_noise];
    const most = coefficients[K.most] | 0;
    let isolated_V = stages[1];
    let a = generator[0];
    let b = generator[1];
    let c = generator[2];
    let counter = generator[3];
    let ripple = waves[PLACE.rectifier];
    let ripple_before = waves[PLACE.rectifier_before];
    const ripple_twice_cosine = waves[PLACE.rectifier_twice_cosine];
    let inverter = waves[PLACE.inverter];
    let inverter_before = waves[PLACE.inverter_before];
    const inverter_twice_cosine = waves[PLACE.inverter_twice_cosine];
    for (let n = 0; n < READINGS; n++) {
      const bits = (((a + b) | 0) + counter) | 0;
      counter = (counter + 1) | 0;
      a = b ^ (b >>> 9);
      b = (c + (c << 3)) | 0;
      c = (((c << 21) | (c >>> 11)) + bits) | 0;
      const ripple_next = ripple_twice_cosine * ripple - ripple_before;
      ripple_before = ripple;
      ripple = ripple_next;
      const inverter_next = inverter_twice_cosine * inverter - inverter_before;
      inverter_before = inverter;
      inverter = inverter_next;
      isolated_V = isolation_keep * isolated_V + isolation_add;
      const counts = (counts_per_V * isolated_V + (zero + converter_noise * (bits >>> 24))) | 0;
      readings[n] = Math.max(0, Math.min(most, counts));
    }
    waves[PLACE.rectifier] = ripple;
    waves[PLACE.rectifier_before] = ripple_before;
    waves[PLACE.inverter] = inverter;
    waves[PLACE.inverter_before] = inverter_before;
    generator[0] = a;
    generator[1] = b;
    generator[2] = c;
    generator[3] = counter;
    stages[1] = isolated_V > TINY || isolated_V < -TINY ? isolated_V : 0;
    signals[AT.sensed_V] = 0;
  }

  /** Work out the loop's coefficients. @param filter_ms time constant of the tap, 0 for none. */
  private connect(filter_ms: number, tap_per_V: number): void {
    const { coefficients } = this;
    const { isolation, converter, divider } = this.machine;
    const { noise } = this.world;
    const codes = 2 ** converter.bits;
    const counts_per_V = (codes / converter.reference_V) * (1 + converter.gain_error);
    const isolation_share = lagShare(2 * Math.PI * isolation.bandwidth_kHz * READING_MS, 1);
    const isolation_gain = 1 + isolation.gain_error;
    const converter_noise = converter.noise_counts * ONE_BYTE;
    coefficients[K.tap_per_V] = tap_per_V;
    coefficients[K.white] = noise.white_V_rms_per_tick * Math.sqrt(READINGS) * THREE_BYTES * tap_per_V;
    coefficients[K.share] = lagShare(READING_MS, filter_ms);
    coefficients[K.isolation_share] = isolation_share * isolation_gain;
    coefficients[K.isolation_keep] = 1 - isolation_share;
    coefficients[K.isolation_add] = (isolation_share * isolation.offset_mV) / 1000;
    coefficients[K.counts_per_V] = counts_per_V;
    // One half is added so that cutting off the fraction rounds.
    coefficients[K.zero] = converter.zero_counts + converter.offset_counts - converter_noise * MIDDLE_OF_ONE + 0.5;
    coefficients[K.converter_noise] = converter_noise;
    coefficients[K.most] = codes - 1;
    coefficients[K.ratio] = divider.ratio;
    // The two low passes attenuate the inverter's ripple itself; its alias is made by the converter alone.
    const through_tap = 2 * Math.PI * noise.inverter_kHz * filter_ms;
    const through_isolation = noise.inverter_kHz / isolation.bandwidth_kHz;
    coefficients[K.inverter] =
      (tap_per_V * isolation_gain * counts_per_V) /
      Math.sqrt((1 + through_tap * through_tap) * (1 + through_isolation * through_isolation));
  }

  /** An intermittent contact opens and closes at random. */
  private interrupt(): void {
    if (this.lead === 1) this.lead = this.contact.chance(this.interruption_chance) ? 0 : 1;
    else this.lead = this.contact.chance(1 / INTERRUPTION_MS) ? 1 : 0;
  }
}
