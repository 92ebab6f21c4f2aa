import { dividerParts, inPlusLead, nodeVoltages, type Part } from './circuit.js';
import { faultCircuits } from './faults.js';
import { type ElectricalMachine, known, type Source } from './machine.js';

/** What a part has to stand, with every part sound and with one fault. */
export interface Stress {
  readonly part: string;
  readonly ohm: number;
  readonly volts: number;
  readonly watts: number;
  /** Highest with one part failed or one lead touching something, and what that was. */
  readonly fault_V: number;
  readonly fault_W: number;
  readonly fault: string;
  /** Rating after derating, for use; the full rating is the limit under a fault. */
  readonly allowed_V: number;
  readonly allowed_W: number;
  readonly rated_V: number;
  readonly rated_W: number;
  readonly kept: boolean;
}

/** Shares of the ratings that are used. */
export const DERATING = {
  power: 0.5,
  voltage: 0.7,
  source: known('common practice', ''),
} as const satisfies { readonly power: number; readonly voltage: number; readonly source: Source };

type Needed = Pick<ElectricalMachine, 'divider' | 'isolation' | 'supply'>;

/** Every resistor of the divider at the supply's no-load voltage. */
export function stressesOf(machine: Needed & Pick<ElectricalMachine, 'converter'>): Stress[] {
  const { divider, supply } = machine;
  const sound = dividerParts(machine);
  const resistors = sound.filter(({ name }) => /^R\d+$/.test(name));
  const cases = faultCircuits(machine);
  return resistors.map((part) => {
    const { volts, watts } = loadOf(part, sound, supply.no_load_V);
    let fault_V = volts;
    let fault_W = watts;
    let fault = 'none raises it';
    for (const { part: failed, failure, parts } of cases) {
      const own = parts.find((one) => one.name === part.name)!;
      if (own.value !== part.value) continue;
      const load = loadOf(own, parts, supply.no_load_V);
      if (load.volts > fault_V * 1.000001) fault = `${failed} ${failure}`;
      fault_V = Math.max(fault_V, load.volts);
      fault_W = Math.max(fault_W, load.watts);
    }
    const rated_V = divider.resistor_V;
    const rated_W = divider.resistor_W;
    const allowed_V = DERATING.voltage * rated_V;
    const allowed_W = DERATING.power * rated_W;
    const kept = volts <= allowed_V && watts <= allowed_W && fault_V <= rated_V && fault_W <= rated_W;
    return {
      part: part.name,
      ohm: part.value,
      volts,
      watts,
      fault_V,
      fault_W,
      fault,
      allowed_V,
      allowed_W,
      rated_V,
      rated_W,
      kept,
    };
  });
}

function loadOf(
  part: Part,
  parts: readonly Part[],
  no_load_V: number,
): { readonly volts: number; readonly watts: number } {
  const found = nodeVoltages(parts, [{ node: 'work', volts: no_load_V }]);
  const volts = Math.abs(found.get(part.from)!.re - found.get(part.to)!.re);
  return { volts, watts: (volts * volts) / part.value };
}

/** What someone meets who touches a lead behind the protective resistors, at no load. */
export interface Touch {
  /** Highest current with every part sound, mA, and with one protective resistor shorted (Infinity: not limited). */
  readonly lead_mA: number;
  readonly fault_mA: number;
  /** Current in the leads when they touch each other, mA. */
  readonly shorted_mA: number;
  /** Charge energy of the filter capacitor at no load, mJ, and with the lower resistor open. */
  readonly stored_mJ: number;
  readonly fault_stored_mJ: number;
  /** What the currents are held against. */
  readonly felt_mA: number;
  readonly felt_source: Source;
}

/** Threshold of perception of direct current, mA. */
const FELT_MA = 2;

/** Closed forms: a lead is behind half of the upper resistors; a hand is taken as no resistance at all. */
export function touchOf(machine: Needed): Touch {
  const { divider, isolation, supply } = machine;
  const { top_resistors, top_kohm, bottom_kohm, capacitor_nF } = divider;
  const { no_load_V } = supply;
  const fewest = Math.min(inPlusLead(divider), top_resistors - inPlusLead(divider));
  const top = top_resistors * top_kohm;
  const tap_V = (lower: number) => (no_load_V * lower) / (top + lower);
  const stored_mJ = (volts: number) => 0.5 * capacitor_nF * 1e-9 * volts * volts * 1000;
  return {
    lead_mA: no_load_V / (fewest * top_kohm),
    fault_mA: no_load_V / (Math.max(0, fewest - 1) * top_kohm),
    shorted_mA: no_load_V / top,
    stored_mJ: stored_mJ(tap_V(1 / (1 / bottom_kohm + 1 / isolation.input_kohm))),
    fault_stored_mJ: stored_mJ(tap_V(isolation.input_kohm)),
    felt_mA: FELT_MA,
    felt_source: known('memory', 'IEC 60479-1, threshold of perception of direct current'),
  };
}
