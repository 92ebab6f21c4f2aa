import { Random, READINGS_PER_TICK } from '../base/index.js';
import { type Faults, faultNumber } from './faults.js';
import type { MachineConfig } from './machine-config.js';
import type { Noise } from './noise.js';
import { lagShare } from './series.js';
import { STREAM } from './streams.js';
import type { WorldConfig } from './world-config.js';

const READING_MS = 0.1;
/** Three bytes, each uniform on 0…255, have variance 3·(256² − 1)/12; its root is the inverse of this. */
const THREE_BYTES = 1 / Math.sqrt((3 * (256 * 256 - 1)) / 12);
const ONE_BYTE = 1 / Math.sqrt((256 * 256 - 1) / 12);
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

/**
 * From the arc to converter counts at 10 kHz: noise at the arc, divider, RC, isolation stage, converter.
 * Within a tick the arc voltage goes straight from its old to its new value; each stage holds its input
 * for one reading (α = 1 − e^(−T/τ), from a series at setup).
 */
export class Sensing {
  readonly readings = new Uint16Array(READINGS_PER_TICK);
  /** Voltage at the tap behind the filter, times the divider's nominal ratio: what an ideal converter would see, V. */
  sensed_V = 0;

  private tap_V = 0;
  private isolated_V = 0;
  private lead = 1;
  private readonly contact: Random;
  // State of sfc32 as in sim/base's Random, kept here so that the loop can hold it in local variables.
  private a: number;
  private b: number;
  private c: number;
  private counter: number;

  private tap_per_V = 0;
  private tap_share = 1;
  private interruption_chance = 0;
  private inverter_share = 0;
  private forced_code = -1;
  private readonly isolation_share: number;
  private readonly isolation_gain: number;
  private readonly isolation_offset_V: number;
  private readonly counts_per_V: number;
  private readonly zero_counts: number;
  private readonly noise_counts: number;
  private readonly most_counts: number;
  private readonly ratio: number;
  private readonly tap_gain: number;
  private readonly top_resistors: number;
  private readonly rc_ms: number;
  private readonly inverter_kHz: number;
  private readonly bandwidth_kHz: number;

  constructor(machine: MachineConfig, world: WorldConfig, seed: number) {
    const { divider, isolation, converter } = machine;
    const random = new Random(seed, STREAM.reading);
    this.a = random.next_u32();
    this.b = random.next_u32();
    this.c = random.next_u32();
    this.counter = 1;
    this.contact = new Random(seed, STREAM.contact);
    this.ratio = divider.ratio;
    this.tap_gain = 1 / (divider.ratio * (1 + divider.gain_error));
    this.top_resistors = divider.top_resistors;
    this.rc_ms = divider.rc_ms;
    this.inverter_kHz = world.noise.inverter_kHz;
    this.bandwidth_kHz = isolation.bandwidth_kHz;
    this.isolation_share = lagShare(2 * Math.PI * isolation.bandwidth_kHz * READING_MS, 1);
    this.isolation_gain = 1 + isolation.gain_error;
    this.isolation_offset_V = isolation.offset_mV / 1000;
    const codes = 2 ** converter.bits;
    this.counts_per_V = (codes / converter.reference_V) * (1 + converter.gain_error);
    this.zero_counts = converter.zero_counts + converter.offset_counts;
    this.noise_counts = converter.noise_counts;
    this.most_counts = codes - 1;
    this.connect();
  }

  /** Take up the faults that are present now. */
  apply(faults: Faults): void {
    const { present } = faults;
    this.connect();
    if (present[TOP_SHORT] === 1) {
      const n = this.top_resistors;
      this.tap_per_V = 1 / (1 + ((this.ratio - 1) * (n - 1)) / n);
    }
    if (present[BOTTOM_OPEN] === 1) {
      // The capacitor now charges through the upper part alone, which is (ratio − 1) lower resistors; in
      // parallel with one that was (ratio − 1)/ratio of it, so the time constant grows by the ratio.
      this.tap_per_V = 1;
      this.tap_share = lagShare(READING_MS, this.rc_ms * this.ratio);
    }
    if (present[CAPACITOR_OPEN] === 1) {
      this.tap_share = 1;
      this.inverter_share = this.isolationPasses();
    }
    if (present[REVERSED] === 1) this.tap_per_V = -this.tap_per_V;
    const nothing = present[OPEN_LEAD] === 1 || present[TOP_OPEN] === 1;
    if (nothing || present[BOTTOM_SHORT] === 1) {
      this.tap_per_V = 0;
      this.inverter_share = 0;
    }
    if (present[CAPACITOR_SHORT] === 1) {
      this.tap_per_V = 0;
      this.inverter_share = 0;
      this.tap_share = 1;
    }
    this.interruption_chance = present[INTERMITTENT] === 1 ? faults.value[INTERMITTENT]! / 1000 : 0;
    if (present[STUCK_CODE] === 1) {
      this.forced_code = Math.max(0, Math.min(this.most_counts, Math.round(faults.value[STUCK_CODE]!)));
    }
    if (present[DEAD] === 1) this.forced_code = 0;
  }

  /**
   * The ten readings of one millisecond.
   * @param live 1 while an arc or pilot burns or the supply stands at no load, 0 when the torch is dead:
   * only a live torch carries white, slow and ripple noise; impulses come from elsewhere.
   */
  take(from_V: number, to_V: number, live: number, noise: Noise, slow_before_V: number): void {
    if (this.forced_code >= 0) this.readings.fill(this.forced_code);
    else this.convert(from_V, to_V, live, noise, slow_before_V);
  }

  private convert(from_V: number, to_V: number, live: number, noise: Noise, slow_before_V: number): void {
    const { readings } = this;
    const { cosine, sine } = noise.rectifier;
    const inverter_cosine = noise.inverter.cosine;
    const inverter_sine = noise.inverter.sine;
    const { impulse_V } = noise;
    const gain = this.tap_per_V * this.connected();
    const white = live * noise.white_V * THREE_BYTES * gain;
    const ripple_c = live * noise.rectifier.in_phase * gain;
    const ripple_s = live * noise.rectifier.quadrature * gain;
    const slow_V = live * slow_before_V;
    let input = (from_V + slow_V) * gain - white * 382.5;
    const rise = ((to_V - from_V + live * noise.coloured_V - slow_V) * gain) / READINGS_PER_TICK;
    const share = this.tap_share;
    const keep = 1 - share;
    const isolation_share = this.isolation_share * this.isolation_gain;
    const isolation_keep = 1 - this.isolation_share;
    const isolation_add = this.isolation_share * this.isolation_offset_V;
    const scale = this.counts_per_V;
    const inverter = live * gain * this.inverter_share * this.isolation_gain * scale;
    const inverter_c = noise.inverter.in_phase * inverter;
    const inverter_s = noise.inverter.quadrature * inverter;
    const converter_noise = this.noise_counts * ONE_BYTE;
    // One half is added so that cutting off the fraction rounds.
    const zero = this.zero_counts - converter_noise * 127.5 + 0.5;
    const most = this.most_counts;
    let tap_V = this.tap_V;
    let isolated_V = this.isolated_V;
    let a = this.a;
    let b = this.b;
    let c = this.c;
    let counter = this.counter;
    for (let n = 0; n < READINGS_PER_TICK; n++) {
      const bits = (((a + b) | 0) + counter) | 0;
      counter = (counter + 1) | 0;
      a = b ^ (b >>> 9);
      b = (c + (c << 3)) | 0;
      c = (((c << 21) | (c >>> 11)) + bits) | 0;
      input += rise;
      const arc =
        input +
        white * ((bits & 255) + ((bits >>> 8) & 255) + ((bits >>> 16) & 255)) +
        (ripple_c * cosine[n]! + ripple_s * sine[n]!) +
        impulse_V[n]! * gain;
      tap_V = keep * tap_V + share * arc;
      isolated_V = isolation_keep * isolated_V + (isolation_share * tap_V + isolation_add);
      let counts =
        scale * isolated_V +
        (zero + converter_noise * (bits >>> 24) + (inverter_c * inverter_cosine[n]! + inverter_s * inverter_sine[n]!));
      if (counts < 0) counts = 0;
      else if (counts > most) counts = most;
      readings[n] = counts;
    }
    this.a = a;
    this.b = b;
    this.c = c;
    this.counter = counter;
    this.tap_V = tap_V;
    this.isolated_V = isolated_V;
    this.sensed_V = tap_V * this.ratio;
  }

  /** The chain without any fault. */
  private connect(): void {
    this.tap_per_V = this.tap_gain;
    this.tap_share = lagShare(READING_MS, this.rc_ms);
    this.forced_code = -1;
    const turns = 2 * Math.PI * this.inverter_kHz * this.rc_ms;
    // The RC attenuates the inverter's ripple itself, not its alias, which only the converter makes.
    this.inverter_share = this.isolationPasses() / Math.sqrt(1 + turns * turns);
  }

  private isolationPasses(): number {
    const share = this.inverter_kHz / this.bandwidth_kHz;
    return 1 / Math.sqrt(1 + share * share);
  }

  /** 0 while an intermittent contact is open. */
  private connected(): number {
    if (this.interruption_chance === 0) this.lead = 1;
    else if (this.lead === 1) this.lead = this.contact.chance(this.interruption_chance) ? 0 : 1;
    else this.lead = this.contact.chance(1 / INTERRUPTION_MS) ? 1 : 0;
    return this.lead;
  }
}
