// Direct strikes: the module alone, from trigger on to permit or refusal, over synthetic readings. Apart from proof.ts, which prints.
import { MODE_FAULT, MODE_LOWER, MODE_SETTLE, MODE_STRIKE } from '../../firmware/wire/codes.gen.js';
import {
  INPUT_BREAKAWAY,
  INPUT_KEY,
  INPUT_REQUEST,
  INPUT_STOP_CHAIN,
  INPUT_SUPPLY_CONTACT,
  INPUT_TOP,
  INPUT_TOUCH,
  OUTPUT_FAULT,
  OUTPUT_MODE,
  OUTPUT_PROOF_SLOPE_V_PER_MM,
  OUTPUT_TRIGGER,
  OUTPUT_Z,
  READINGS_PER_TICK,
} from '../../firmware/wire/layout.gen.js';
import { PARAMETER_ROWS } from '../../firmware/wire/parameter-rows.js';
import type { Random } from '../../sim/base/index.js';
import { type ControlModule, WasmController } from '../../sim/run/controller/index.js';

/** Noise: white per tick, rms; ripple of the rectifier, peak; slow noise below a corner frequency, rms. */
export interface Noise {
  readonly white_V: number;
  readonly ripple_V: number;
  readonly slow_V: number;
  readonly corner_Hz?: number;
}

/** What burns. A pilot alone has no `slope_V_per_mm`. */
export interface Burning {
  readonly slope_V_per_mm?: number;
  readonly voltage_V?: number;
  readonly excess_V?: number;
  readonly decay_ms?: number;
  readonly pilot_V: number;
  /** From trigger on to the transfer. */
  readonly transfer_ms?: number;
  /** After it the pilot is still what is read. */
  readonly persists_ms?: number;
  readonly jump_V?: number;
  readonly jumps_per_s?: number;
}

export interface Outcome {
  /** A motion permit, the fault, or another strike. */
  readonly ended: 'permit' | 'again' | number;
  /** From the end of the pilot to the lowering, ms. */
  readonly dwell_ms: number;
  readonly slope_V_per_mm: number;
  readonly ticks: number;
}

const LINES = INPUT_STOP_CHAIN | INPUT_BREAKAWAY | INPUT_KEY | INPUT_REQUEST;
const ZERO_COUNTS = 124;
const COUNTS_PER_V = 1 / 0.09668;
const TAKE_OVER_MM = 12;
const LONGEST_TICKS = 6000;
const NO_LOAD = { volts: 280, ticks: 30 };
/** Of the arc: standoff and feed effect at standstill. */
const CUT = { standoff_mm: 1.5, feed_effect_V: 8, volts: 118 };
const TAP_MS = 0.472;
const SPATTER_V = 4;

/** One box that strikes again and again: the state at the moment of trigger on is put back. */
export class Strikes {
  private readonly controller: WasmController;
  private readonly struck: Uint8Array;
  private readonly sheet_steps: number;
  private readonly steps_per_mm: number;

  constructor(module: ControlModule, parameters: Readonly<Record<string, number>> = {}) {
    this.controller = new WasmController(module);
    const { controller } = this;
    const id = (name: string) => PARAMETER_ROWS.find((row) => row.name === name)!.id;
    for (const [name, value] of Object.entries(parameters)) controller.setParameter(id(name), value);
    this.steps_per_mm = controller.parameter(id('z_steps_per_mm'));
    const ready = LINES & ~INPUT_REQUEST;
    this.quiet((ready & ~INPUT_KEY) | INPUT_TOP, 40);
    this.quiet(ready, 40);
    this.sheet_steps = -Math.round(TAKE_OVER_MM * this.steps_per_mm);
    let z = 0;
    for (let tick = 0; !this.fired; tick++) {
      if (tick > 60_000) throw new Error('the trigger never went on');
      this.quiet(LINES | (z <= this.sheet_steps ? INPUT_TOUCH : 0), 1);
      z = controller.output.integers[OUTPUT_Z / 4];
    }
    this.struck = controller.state().slice();
  }

  private get fired(): boolean {
    return (this.controller.digital_outputs & OUTPUT_TRIGGER) !== 0;
  }

  private quiet(lines: number, ticks: number): void {
    for (let tick = 0; tick < ticks; tick++) {
      this.controller.digital_inputs = lines;
      this.controller.readings.fill(ZERO_COUNTS + (tick & 1));
      this.controller.tick();
    }
  }

  /** One strike. @param random of its noise; its length differs with the outcome */
  strike(burning: Burning, noise: Noise, random: Random): Outcome {
    const { controller, steps_per_mm } = this;
    const { integers, reals } = controller.output;
    controller.state().set(this.struck);
    const transfer_ms = burning.slope_V_per_mm === undefined ? Infinity : (burning.transfer_ms ?? 150);
    const seen_ms = transfer_ms + (burning.persists_ms ?? 0);
    const slope = burning.slope_V_per_mm ?? 0;
    const arc_V = (burning.voltage_V ?? CUT.volts) + CUT.feed_effect_V;
    const decay = Math.exp(-1 / (burning.decay_ms ?? 120));
    const keep = Math.exp((-2 * Math.PI * (noise.corner_Hz ?? 5)) / 1000);
    const gain = noise.slow_V * Math.sqrt(1 - keep * keep);
    const share = 1 - Math.exp(-0.1 / TAP_MS);
    const step = (2 * Math.PI * 100) / 10_000;
    let phase = random.uniform() * 2 * Math.PI;
    let slow_V = noise.slow_V * gaussian(random);
    let excess = 1;
    let jumped_V = 0;
    let tap_V = 0;
    let z = integers[OUTPUT_Z / 4];
    let before_V = 0;
    let lowered = Number.NaN;
    for (let tick = 1; tick < LONGEST_TICKS; tick++) {
      const standoff_mm = (z - this.sheet_steps) / steps_per_mm;
      slow_V = slow_V * keep + gain * gaussian(random);
      if (burning.jump_V && random.uniform() < (burning.jumps_per_s ?? 3) / 1000)
        jumped_V = jumped_V === 0 || random.uniform() < 0.5 ? (random.uniform() < 0.5 ? 1 : -1) * burning.jump_V : 0;
      let volts = tick < NO_LOAD.ticks ? NO_LOAD.volts : burning.pilot_V + jumped_V;
      let spatter_V = 0;
      if (tick >= transfer_ms) excess *= decay;
      if (tick >= seen_ms) {
        volts = arc_V + slope * (standoff_mm - CUT.standoff_mm) + (burning.excess_V ?? 30) * excess;
        spatter_V = SPATTER_V * excess * gaussian(random);
      }
      const from_V = tick === NO_LOAD.ticks || tick === seen_ms ? volts : before_V;
      for (let n = 0; n < READINGS_PER_TICK; n++) {
        phase += step;
        const now_V =
          from_V +
          ((volts - from_V) * (n + 1)) / READINGS_PER_TICK +
          slow_V +
          spatter_V +
          noise.ripple_V * Math.sin(phase) +
          noise.white_V * Math.sqrt(READINGS_PER_TICK) * gaussian(random);
        tap_V += share * (now_V - tap_V);
        controller.readings[n] = Math.max(0, Math.min(4095, Math.floor(ZERO_COUNTS + tap_V * COUNTS_PER_V + 0.5)));
      }
      before_V = volts;
      controller.digital_inputs = tick > transfer_ms + 10 ? LINES | INPUT_SUPPLY_CONTACT : LINES;
      controller.tick();
      z = integers[OUTPUT_Z / 4];
      const mode = integers[OUTPUT_MODE / 4];
      if (mode === MODE_LOWER && Number.isNaN(lowered)) lowered = tick;
      const slope_V_per_mm = reals[OUTPUT_PROOF_SLOPE_V_PER_MM / 4];
      const told = { dwell_ms: lowered - seen_ms, slope_V_per_mm, ticks: tick };
      if (mode === MODE_SETTLE) return { ended: 'permit', ...told };
      if (mode === MODE_FAULT) return { ended: integers[OUTPUT_FAULT / 4], ...told };
      if (mode === MODE_STRIKE && !this.fired) return { ended: 'again', ...told };
    }
    throw new Error('a strike that does not end');
  }
}

const GAUSSIAN_SCALE = 1 / Math.sqrt((4 * (256 * 256 - 1)) / 12);
/** Nearly Gaussian: the sum of four bytes. Its tails end at 3.4: sums of many readings are what the box sees. */
function gaussian(random: Random): number {
  const bits = random.next_u32();
  return ((bits & 255) + ((bits >>> 8) & 255) + ((bits >>> 16) & 255) + (bits >>> 24) - 510) * GAUSSIAN_SCALE;
}
