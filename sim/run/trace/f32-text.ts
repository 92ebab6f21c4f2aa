/** Powers of ten up to the digits that an f32 below 1 can need after the point before it is written otherwise. */
const SCALES = [1, 10, 100, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9];

/** The shortest decimal that reads back, through f64, as the same f32. @param value an f32 */
export function f32Text(value: number): string {
  if (value === 0) return Object.is(value, -0) ? '-0' : '0';
  const size = value < 0 ? -value : value;
  if (size >= 1e-3 && size < 1e6) {
    for (let digits = 0; digits < SCALES.length; digits++) {
      const scale = SCALES[digits];
      // Divided once, so this is the f64 nearest to the decimal; its own text has no more digits.
      const rounded = Math.round(value * scale) / scale;
      if (Math.fround(rounded) === value) return `${rounded}`;
    }
  }
  if (!Number.isFinite(value)) return `${value}`;
  for (let digits = 1; digits < 9; digits++) {
    const text = value.toPrecision(digits);
    if (Math.fround(Number(text)) === value) return `${Number(text)}`;
  }
  // Nine significant digits tell any two f32 apart (IEEE 754-2019, 5.12.2: 1 + ⌈24·log10 2⌉).
  return `${Number(value.toPrecision(9))}`;
}
