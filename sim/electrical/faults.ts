import { dividerParts, inPlusLead, lowerName, OPEN_OHM, type Part, tapGain, withFailed, withLink } from './circuit.js';
import type { ElectricalMachine } from './machine.js';

/** What a single fault does, in terms that a simulated chain can be given. */
export type FaultEffect =
  | 'upper-open'
  | 'upper-short'
  | 'lower-open'
  | 'lower-short'
  | 'capacitor-open'
  | 'capacitor-short'
  | 'lead-open'
  | 'leads-exchanged'
  | 'output-low'
  | 'output-high'
  | 'code-stuck';

/** One thing that can fail, and what a steady arc then reads. */
export interface SingleFault {
  /** The part or lead as the drawing names it. */
  readonly part: string;
  /** `open`, `shorted` or in words. */
  readonly failure: string;
  readonly effect: FaultEffect;
  /** How many of the upper resistors are without effect. */
  readonly bridged: number;
  /** Volts at the tap for one at the arc; not for the converter and the stage's output. */
  readonly tap_per_V: number | null;
  readonly rc_ms: number | null;
  /** Converter code that an arc at the given voltage settles to, and the arc voltage that a box takes it for. */
  readonly code: number;
  readonly reads_V: number;
}

type Needed = Pick<ElectricalMachine, 'divider' | 'isolation' | 'converter'>;

interface Case {
  readonly part: string;
  readonly failure: string;
  readonly effect: FaultEffect;
  readonly bridged?: number;
  /** The circuit with the fault in it; absent where the circuit is sound. */
  readonly parts?: readonly Part[];
  /** Factor of the tap's voltage, for leads that are exchanged. */
  readonly sign?: -1;
  readonly code?: number;
}

/** The circuit of a single fault, by the same part and failure; absent for those behind the tap. */
export interface FaultCircuit {
  readonly part: string;
  readonly failure: string;
  readonly parts: readonly Part[];
}

export function faultCircuits(machine: Needed): FaultCircuit[] {
  return casesOf(machine).flatMap(({ part, failure, parts }) => (parts ? [{ part, failure, parts }] : []));
}

/**
 * Every part open and shorted, every lead open or touching what is near it, and what is behind the tap. The network
 * is solved for each. The isolation stage is taken to follow its input up to the converter's top and down to its
 * bottom.
 * @param true_V voltage of the steady arc
 */
export function singleFaults(machine: Needed, true_V: number): SingleFault[] {
  const { converter, divider } = machine;
  const codes = 2 ** converter.bits;
  const counts_per_V = codes / converter.reference_V;
  const sound = dividerParts(machine);
  const sound_per_V = tapGain(sound).tap_per_V;
  const codeOf = (tap_V: number) =>
    Math.max(0, Math.min(codes - 1, Math.round(tap_V * counts_per_V + converter.zero_counts)));
  return casesOf(machine).map(({ part, failure, effect, bridged = 0, parts, sign = 1, code: fixed }): SingleFault => {
    const capacitor = parts?.find(({ name }) => name === 'C1');
    const gain = parts && tapGain(parts);
    const tap_per_V = gain ? sign * gain.tap_per_V : null;
    const code = fixed ?? codeOf(true_V * (tap_per_V ?? sound_per_V));
    const rc_ms = gain ? (capacitor?.kind === 'capacitor' ? gain.source_ohm * divider.capacitor_nF * 1e-6 : 0) : null;
    const reads_V = (code - converter.zero_counts) / (counts_per_V * sound_per_V);
    return { part, failure, effect, bridged, tap_per_V, rc_ms, code, reads_V };
  });
}

function casesOf(machine: Needed): Case[] {
  const { divider, converter } = machine;
  const sound = dividerParts(machine);
  const upper = inPlusLead(divider);
  const under = divider.top_resistors - upper;
  const lower = lowerName(divider);
  const top = 2 ** converter.bits - 1;
  const tops = Array.from({ length: divider.top_resistors }, (_, n) => `R${n + 1}`);
  const broken = (lead: 'plus' | 'minus') => openLead(sound, lead);
  const all: readonly (Case | undefined)[] = [
    ...tops.flatMap((part): Case[] => [
      { part, failure: 'open', effect: 'upper-open', parts: withFailed(sound, part, 'open') },
      { part, failure: 'shorted', effect: 'upper-short', bridged: 1, parts: withFailed(sound, part, 'short') },
    ]),
    { part: lower, failure: 'open', effect: 'lower-open', parts: withFailed(sound, lower, 'open') },
    { part: lower, failure: 'shorted', effect: 'lower-short', parts: withFailed(sound, lower, 'short') },
    { part: 'C1', failure: 'open', effect: 'capacitor-open', parts: withFailed(sound, 'C1', 'open') },
    { part: 'C1', failure: 'shorted', effect: 'capacitor-short', parts: withFailed(sound, 'C1', 'short') },
    { part: 'lead +', failure: 'broken', effect: 'lead-open', parts: broken('plus') },
    { part: 'lead -', failure: 'broken', effect: 'lead-open', parts: broken('minus') },
    { part: 'leads', failure: 'on each other', effect: 'lower-short', parts: withLink(sound, 'plus', 'minus') },
    {
      part: 'lead +',
      failure: 'on the work',
      effect: 'upper-short',
      bridged: upper,
      parts: withLink(sound, 'plus', 'work'),
    },
    under === 0
      ? undefined
      : {
          part: 'lead -',
          failure: 'on the electrode',
          effect: 'upper-short',
          bridged: under,
          parts: withLink(sound, 'minus', '0'),
        },
    under === 0
      ? undefined
      : { part: 'lead -', failure: 'on the work', effect: 'lower-short', parts: withLink(sound, 'minus', 'work') },
    { part: 'lead +', failure: 'on the electrode', effect: 'lower-short', parts: withLink(sound, 'plus', '0') },
    { part: 'leads', failure: 'exchanged', effect: 'leads-exchanged', parts: sound, sign: -1 },
    { part: 'stage', failure: 'output low', effect: 'output-low', code: 0 },
    { part: 'stage', failure: 'output high', effect: 'output-high', code: top },
    { part: 'converter', failure: 'repeats a code', effect: 'code-stuck' },
  ];
  return all.filter((one) => one !== undefined);
}

/** A lead broken between the protective resistors and the lower one: its far end goes to a node of its own. */
function openLead(parts: readonly Part[], lead: 'plus' | 'minus'): Part[] {
  const beyond = `${lead}_broken`;
  const far = (node: string) => (node === lead ? beyond : node);
  const across = (part: Part) => part.from === 'plus' && part.to === 'minus';
  const moved = parts.map((part) => (across(part) ? part : { ...part, from: far(part.from), to: far(part.to) }));
  return withLink(moved, lead, beyond, OPEN_OHM);
}
