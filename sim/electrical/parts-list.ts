import { inPlusLead, lowerName } from './circuit.js';
import { samplingOf } from './filter.js';
import type { BenchMachine } from './machine.js';

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
export function partsList(machine: BenchMachine): ListedPart[] {
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
