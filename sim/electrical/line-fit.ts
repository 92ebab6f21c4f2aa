/** A straight line y = slope·x + intercept by least squares, with what its uncertainty follows from. */
export interface Line {
  readonly count: number;
  readonly slope: number;
  readonly intercept: number;
  readonly mean_x: number;
  /** Sum of the squared distances of x from its mean. */
  readonly spread: number;
  /** How much of a change of y at place m the line follows at place n (hat matrix). */
  weight(n: number, m: number): number;
  /** How much of a change of y at place m the slope takes up. */
  slopeWeight(m: number): number;
}

/** Ordinary least squares (any text on statistics). @param x at least two different values */
export function fitLine(x: readonly number[], y: readonly number[]): Line {
  const count = x.length;
  const mean_x = x.reduce((sum, each) => sum + each, 0) / count;
  const mean_y = y.reduce((sum, each) => sum + each, 0) / count;
  const spread = x.reduce((sum, each) => sum + (each - mean_x) ** 2, 0);
  const slope = x.reduce((sum, each, n) => sum + (each - mean_x) * (y[n]! - mean_y), 0) / spread;
  return {
    count,
    slope,
    intercept: mean_y - slope * mean_x,
    mean_x,
    spread,
    slopeWeight: (m) => (x[m]! - mean_x) / spread,
    weight: (n, m) => 1 / count + ((x[n]! - mean_x) * (x[m]! - mean_x)) / spread,
  };
}
