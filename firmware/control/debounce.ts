// Integrating debounce after K. Kuhn (published code): the count goes up while the input is 1 and down while it
// is 0; the output changes only when an end is reached.

/** Ticks a switch must prevail. */
export const SWITCH_TICKS = 3;

/** @returns the new count, 0…maximum, after one reading of the input. */
export function integrate(count: i32, input: bool, up: i32, down: i32, maximum: i32): i32 {
  if (input) return count + up > maximum ? maximum : count + up;
  return count < down ? 0 : count - down;
}

/** @returns the new output: 1 at the maximum, 0 at 0, else what it was. */
export function decide(output: i32, count: i32, maximum: i32): i32 {
  return count >= maximum ? 1 : count <= 0 ? 0 : output;
}
