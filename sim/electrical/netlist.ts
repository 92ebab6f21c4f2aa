import { dividerParts } from './circuit.js';
import type { BenchMachine } from './machine.js';
import type { Part } from './network.js';

type Needed = Pick<BenchMachine, 'divider' | 'isolation' | 'converter'>;

/** Resistance of the isolation stage's one pole in the netlist, ohm; the capacitor follows from the bandwidth. */
const POLE_OHM = 1000;

/**
 * The chain from arc to converter as a SPICE netlist: a general circuit simulator can be asked for anything that this
 * bench does not compute. Node `adc` is the converter's input; `work`, against node 0 (the electrode), is the arc.
 * @param parts the divider, with or without a fault in it
 */
export function netlistOf(machine: Needed, true_V: number, parts: readonly Part[] = dividerParts(machine)): string {
  const { isolation, converter } = machine;
  const pole_F = 1 / (2 * Math.PI * isolation.bandwidth_kHz * 1000 * POLE_OHM);
  const zero_V = (converter.zero_counts * converter.reference_V) / 2 ** converter.bits;
  return [
    '* Arc voltage divider, filter and isolation stage. Node 0 is the electrode.',
    '* Voltages of an open plasma arc kill: this file is for a simulator, not a wiring instruction.',
    `VARC work 0 DC ${true_V} AC 1`,
    ...parts.map(partLine),
    '* isolation stage, gain of one, one pole; the barrier lies here',
    'EIN inside 0 plus minus 1',
    `RPOLE inside pole ${POLE_OHM}`,
    `CPOLE pole 0 ${number(pole_F)}`,
    `VZERO lift 0 DC ${number(zero_V)}`,
    'EOUT out lift pole 0 1',
    `ROUT out adc ${number(Math.max(isolation.output_ohm, 1e-3))}`,
    `CSAMPLE adc 0 ${number(converter.sample_pF * 1e-12)}`,
    '.end',
    '',
  ].join('\n');
}

const partLine = ({ name, kind, from, to, value }: Part): string =>
  `${kind === 'capacitor' || !name.startsWith('C') ? name : `R${name}`} ${from} ${to} ${number(value)}`;

/** Twelve digits, in the notation that every SPICE reads. */
const number = (value: number): string => String(Number(value.toPrecision(12)));
