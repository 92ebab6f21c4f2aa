import { dividerParts, inPlusLead, lowerName, type Part } from './circuit.js';
import type { ElectricalMachine } from './machine.js';
import { faradText, ohmText } from './parts.js';

type Needed = Pick<ElectricalMachine, 'divider' | 'isolation' | 'converter'>;

/** Resistance of the isolation stage's one pole in the netlist, ohm; the capacitor follows from the bandwidth. */
const POLE_OHM = 1000;

/**
 * The chain from arc to converter as a SPICE netlist: a general circuit simulator can be asked for anything that this
 * arithmetic here does not compute. Node `adc` is the converter's input; `work`, against node 0 (the electrode), is the arc.
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

const RAIL_TOP = 120;
const RAIL_BOTTOM = 300;
const MIDDLE = (RAIL_TOP + RAIL_BOTTOM) / 2;
const HALF = 26;
const PITCH = 110;
const LEFT = 120;

/**
 * The circuit as an SVG picture: supply side with the split protective resistors, the two leads, lower resistor,
 * filter, isolation stage with the barrier through it, converter. Black on white; nothing depends on colour.
 */
export function circuitSvg(machine: ElectricalMachine): string {
  const { divider, isolation, converter } = machine;
  const upper = inPlusLead(divider);
  const under = divider.top_resistors - upper;
  const value = ohmText(divider.top_kohm * 1000);
  const supply_end = LEFT + Math.max(upper, under) * PITCH + 10;
  const lower_x = supply_end + 120;
  const capacitor_x = lower_x + 110;
  const stage_x = capacitor_x + 90;
  const converter_x = stage_x + 190;
  const width = converter_x + 150;
  const height = 420;
  const across = (y: number, from: number, count: number) =>
    Array.from({ length: count }, (_, n) => resistorAcross(LEFT + n * PITCH + PITCH / 2, y, `R${from + n}`, value));
  return [
    `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 ${width} ${height}" width="${width}" height="${height}" font-family="sans-serif" font-size="13" fill="none" stroke="#000" stroke-width="1.5">`,
    `<rect width="${width}" height="${height}" fill="#fff" stroke="none"/>`,
    text(20, 26, 'Arc voltage: divider, filter, isolation. Voltages of an open plasma arc kill.', 'start', 15),
    text(20, 46, 'A supply keeps charge when it is off. Not an instruction to open a supply.', 'start'),
    box(20, 70, supply_end - 20, 280, 'inside the supply, at the tap', true),
    terminal(60, RAIL_TOP, 'work +'),
    terminal(60, RAIL_BOTTOM, 'electrode -'),
    line(64, RAIL_TOP, stage_x, RAIL_TOP),
    line(64, RAIL_BOTTOM, stage_x, RAIL_BOTTOM),
    ...across(RAIL_TOP, 1, upper),
    ...across(RAIL_BOTTOM, upper + 1, under),
    text((supply_end + lower_x) / 2, RAIL_TOP - 10, 'lead +'),
    text((supply_end + lower_x) / 2, RAIL_BOTTOM + 20, 'lead -'),
    resistorDown(lower_x, lowerName(divider), ohmText(divider.bottom_kohm * 1000)),
    capacitorDown(capacitor_x, 'C1', faradText(divider.capacitor_nF)),
    box(stage_x, RAIL_TOP - 30, 130, RAIL_BOTTOM - RAIL_TOP + 60, ''),
    text(stage_x + 65, MIDDLE - 30, 'isolation'),
    text(stage_x + 65, MIDDLE - 13, 'stage, gain 1'),
    text(stage_x + 65, MIDDLE + 22, `${isolation.bandwidth_kHz} kHz`),
    text(stage_x + 65, MIDDLE + 39, `in ${ohmText(isolation.input_kohm * 1000)}`),
    `<line x1="${stage_x + 65}" y1="64" x2="${stage_x + 65}" y2="${MIDDLE - 48}" stroke-dasharray="7 5" stroke-width="2.5"/>`,
    `<line x1="${stage_x + 65}" y1="${MIDDLE + 50}" x2="${stage_x + 65}" y2="360" stroke-dasharray="7 5" stroke-width="2.5"/>`,
    text(stage_x + 65, 382, 'barrier, reinforced insulation'),
    line(stage_x + 130, MIDDLE, converter_x, MIDDLE),
    box(converter_x, MIDDLE - 45, 110, 90, ''),
    text(converter_x + 55, MIDDLE - 5, 'converter'),
    text(converter_x + 55, MIDDLE + 14, `${converter.bits} bit, ${converter.reference_V} V`),
    '</svg>',
    '',
  ].join('\n');
}

const escaped = (words: string) => words.replaceAll('&', '&amp;').replaceAll('<', '&lt;');

const text = (x: number, y: number, words: string, anchor = 'middle', size = 13): string =>
  `<text x="${x}" y="${y}" text-anchor="${anchor}" font-size="${size}" fill="#000" stroke="none">${escaped(words)}</text>`;

const line = (x1: number, y1: number, x2: number, y2: number): string =>
  `<line x1="${x1}" y1="${y1}" x2="${x2}" y2="${y2}"/>`;

const terminal = (x: number, y: number, words: string): string =>
  `<circle cx="${x}" cy="${y}" r="4" fill="#fff"/>${text(x, y - 12, words)}`;

const box = (x: number, y: number, width: number, height: number, words: string, dashed = false): string =>
  `<rect x="${x}" y="${y}" width="${width}" height="${height}" ${dashed ? 'stroke-dasharray="3 4"' : 'fill="#fff"'}/>${
    words === '' ? '' : text(x + width / 2, y + height + 18, words)
  }`;

const resistorAcross = (x: number, y: number, name: string, value: string): string =>
  `<rect x="${x - HALF}" y="${y - 9}" width="${2 * HALF}" height="18" fill="#fff"/>${text(x, y - 16, name)}${text(x, y + 28, value)}`;

const resistorDown = (x: number, name: string, value: string): string =>
  `${line(x, RAIL_TOP, x, RAIL_BOTTOM)}<rect x="${x - 9}" y="${MIDDLE - HALF}" width="18" height="${2 * HALF}" fill="#fff"/>` +
  `${text(x + 15, MIDDLE - 4, name, 'start')}${text(x + 15, MIDDLE + 14, value, 'start')}`;

const capacitorDown = (x: number, name: string, value: string): string =>
  `${line(x, RAIL_TOP, x, MIDDLE - 5)}${line(x, MIDDLE + 5, x, RAIL_BOTTOM)}${line(x - 15, MIDDLE - 5, x + 15, MIDDLE - 5)}` +
  `${line(x - 15, MIDDLE + 5, x + 15, MIDDLE + 5)}${text(x + 20, MIDDLE - 4, name, 'start')}${text(x + 20, MIDDLE + 14, value, 'start')}`;
