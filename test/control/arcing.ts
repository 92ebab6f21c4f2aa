import { INPUT_REQUEST, OUTPUT_FOUND_TARGET_V } from '../../firmware/wire/layout.gen.js';
import { Rig, SLOPE_V_PER_MM } from './rig.js';

/** Another arc than told: 7 V higher, 5 V of feed effect instead of 8, and a lag of 80 ms. */
export const ARC = { extra_V: 7, feed_V: 5, lag_ms: 80 };
type Arc = typeof ARC;

/** A rig whose arc feels the feed. Ticks of it go through `step`. */
export class Arcing extends Rig {
  arc: Arc = ARC;
  /** Rise of the sheet for each mm along X. */
  tilt = 0;
  private lagged = 1;
  private x_mm = 0;
  override tick(): this {
    const slow = 1 - Math.min(1, this.x_steps / 8);
    this.lagged += (slow - this.lagged) / (1 + this.arc.lag_ms);
    this.x_mm += this.x_steps / 160;
    this.extra_V = this.arc.extra_V + this.arc.feed_V * this.lagged - this.tilt * this.x_mm * SLOPE_V_PER_MM;
    return super.tick();
  }
  /** A contour of so many mm at 50 mm/s after a start at 25; ends in follow. */
  contour(path_mm = 60): this {
    this.begin();
    this.x_steps = 4;
    this.run(200);
    this.x_steps = 8;
    return this.run(path_mm * 20);
  }
  /** A start; the torch stands at cut height. */
  begin(): this {
    this.x_steps = 0;
    this.x_mm = 0;
    if (this.state('armed') === 0) this.ready();
    return this.touchOff().until('settle').run(40);
  }
  end(): this {
    this.off(INPUT_REQUEST);
    this.x_steps = 0;
    return this.until('rest').run(40);
  }
  get found_V(): number {
    return this.real(OUTPUT_FOUND_TARGET_V);
  }
  /** True standoff less cut height: the tilt is the sheet's. */
  get error_mm(): number {
    return this.standoff_mm - this.tilt * this.x_mm - 1.5;
  }
}

/** Parameters of a box that finds its target in such an arc. */
export const FOUND = { target_learned: 1, feed_effect_V: 8, transfer_V: 144, arc_high_V: 190 };
