/** A series of preferred numbers, by its count of values in a decade. */
export type Series = 12 | 24 | 48 | 96 | 192;

/** E24 as IEC 60063 gives it; eight values differ from the rounded formula (second hand). */
const E24 = [10, 11, 12, 13, 15, 16, 18, 20, 22, 24, 27, 30, 33, 36, 39, 43, 47, 51, 56, 62, 68, 75, 82, 91] as const;

/** The one value of E192 that differs from the rounded formula, which gives 919 (IEC 60063, second hand). */
const E192_EXCEPTION = { place: 185, value: 920 } as const;

/**
 * The values of one decade, from 100 up to, and without, 1000.
 * Source: IEC 60063, second hand: E48, E96 and E192 are 10^(n/N) rounded to three digits, E12 is every second
 * of E24.
 */
export function preferredNumbers(series: Series): readonly number[] {
  if (series <= 24) return E24.filter((_, place) => place % (24 / series) === 0).map((value) => 10 * value);
  return Array.from({ length: series }, (_, n) => {
    const place = (n * 192) / series;
    return place === E192_EXCEPTION.place ? E192_EXCEPTION.value : Math.round(100 * 10 ** (n / series));
  });
}

/**
 * Every preferred value from `least` to `most`, in their unit, rising.
 * @param least above 0
 */
export function preferredValues(series: Series, least: number, most: number): number[] {
  const decade = preferredNumbers(series);
  const values: number[] = [];
  for (let power = Math.floor(Math.log10(least)); power <= Math.ceil(Math.log10(most)); power++) {
    for (const number of decade) values.push(scaled(number, power - 2));
  }
  return values.filter((value) => value >= least && value <= most);
}

/** A whole number times a power of ten, with no more rounding than a division costs. */
const scaled = (number: number, power: number): number => (power < 0 ? number / 10 ** -power : number * 10 ** power);
