import { inPlusLead, lowerName } from './circuit.js';
import { samplingOf } from './filter.js';
import type { ElectricalMachine } from './machine.js';

/** A series of preferred numbers, by its count of values in a decade. */
type Series = 12 | 24 | 48 | 96 | 192;

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

/** One line of a parts list. */
export interface ListedPart {
  readonly names: string;
  readonly count: number;
  readonly what: string;
  readonly place: string;
}

/** Resistance with its unit, three digits. */
export function ohmText(ohm: number): string {
  const [factor, unit] = ohm >= 1e6 ? [1e6, 'MΩ'] : ohm >= 1000 ? [1000, 'kΩ'] : [1, 'Ω'];
  return `${Number((ohm / factor).toPrecision(4))} ${unit}`;
}

/** Capacitance with its unit. */
export function faradText(nF: number): string {
  if (nF >= 1000) return `${Number((nF / 1000).toPrecision(3))} µF`;
  return nF >= 1 ? `${Number(nF.toPrecision(3))} nF` : `${Number((nF * 1000).toPrecision(3))} pF`;
}

/** What has to be bought for a design. Ratings are what the parts at hand have. */
export function partsList(machine: ElectricalMachine): ListedPart[] {
  const { divider, isolation, converter } = machine;
  const upper = inPlusLead(divider);
  const under = divider.top_resistors - upper;
  const grade = `${divider.tolerance_percent} %, ${divider.drift_ppm_per_K} ppm/K, ${divider.resistor_W} W, working voltage ${divider.resistor_V} V`;
  const protective = `${ohmText(divider.top_kohm * 1000)}, ${grade}`;
  const range = (from: number, count: number) => (count === 1 ? `R${from}` : `R${from}…R${from + count - 1}`);
  const lead = (pole: string) => `in series, at the tap inside the supply, lead to the ${pole}`;
  const sampling = samplingOf(machine);
  return [
    { names: range(1, upper), count: upper, what: protective, place: lead('work') },
    ...(under > 0
      ? [{ names: range(upper + 1, under), count: under, what: protective, place: lead('electrode') }]
      : []),
    {
      names: lowerName(divider),
      count: 1,
      what: `${ohmText(divider.bottom_kohm * 1000)}, ${grade}`,
      place: 'across the tap, at the isolation stage',
    },
    {
      names: 'C1',
      count: 1,
      what: `${faradText(divider.capacitor_nF)}, ${divider.capacitor_percent} %, film or C0G, 50 V or more`,
      place: 'across the tap, at the isolation stage',
    },
    {
      names: 'isolation stage',
      count: 1,
      what:
        `reinforced insulation for ${isolation.working_V} V working voltage, gain 1, input ${isolation.input_V} V and ` +
        `${ohmText(isolation.input_kohm * 1000)}, clamped; bandwidth ${isolation.bandwidth_kHz} kHz; an isolated supply for its input side`,
      place: 'the barrier: nothing else crosses it',
    },
    {
      names: 'converter',
      count: 1,
      what:
        `${converter.bits} bits, ${converter.reference_V} V; source up to ${ohmText(sampling.most_ohm)} settles in ` +
        `its ${converter.sample_us} µs`,
      place: 'on the board',
    },
  ];
}
