/** The lesser of two numbers, where NaN stands for `nothing yet`. */
export function lesser(a: number, b: number): number {
  return a < b || Number.isNaN(b) ? a : b;
}

/** The greater of two numbers, where NaN stands for `nothing yet`. */
export function greater(a: number, b: number): number {
  return a > b || Number.isNaN(b) ? a : b;
}
