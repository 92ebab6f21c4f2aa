import type { Step } from './invariants.js';

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
  add({ after, lines, z_steps, key_was_off_long, request_was_off_long }: Step, refusal: number): boolean {
    const sign = z_steps === 0 ? 0 : z_steps > 0 ? 1 : 2;
    const rest =
      (lines |
        (sign << 10) |
        (refusal << 12) |
        (key_was_off_long ? 0x10000 : 0) |
        (request_was_off_long ? 0x20000 : 0)) >>>
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
