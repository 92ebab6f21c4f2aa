import type { Step } from './step.js';

const PLACES = 1 << 16;

/** Steps out of one state that differ in something that an invariant looks at. */
export class SeenSteps {
  private readonly after = new Uint32Array(PLACES);
  private readonly rest = new Uint32Array(PLACES);
  /** In which round a place was filled: to clear is to begin a round. */
  private readonly rounds = new Uint32Array(PLACES);
  private round = 0;
  private count = 0;

  clear(): void {
    this.round++;
    this.count = 0;
  }

  /** @returns true when no such step was added since the last `clear` */
  add(step: Step, refusal: number): boolean {
    const { after, lines, z_steps } = step;
    const sign = z_steps === 0 ? 0 : z_steps > 0 ? 1 : 2;
    const rest =
      (lines |
        (sign << 10) |
        (refusal << 12) |
        (step.key_was_off_long ? 1 << 16 : 0) |
        (step.request_was_off_long ? 1 << 17 : 0) |
        (step.reset_was_on ? 1 << 18 : 0) |
        (step.near_zero ? 1 << 19 : 0) |
        (step.seated ? 1 << 20 : 0) |
        (step.height << 21)) >>>
      0;
    let place = (Math.imul(after, 0x9e3779b1) ^ Math.imul(rest, 0x85ebca6b)) >>> 16;
    while (this.rounds[place] === this.round) {
      if (this.after[place] === after && this.rest[place] === rest) return false;
      place = (place + 1) & (PLACES - 1);
    }
    // A full table would never end a search; what does not fit is looked at each time.
    if (this.count > PLACES / 2) return true;
    this.count++;
    this.after[place] = after;
    this.rest[place] = rest;
    this.rounds[place] = this.round;
    return true;
  }
}
