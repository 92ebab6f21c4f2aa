import { PIN_ROWS, type PinRow } from './board-rows.js';

const DIRECTIONS: Readonly<Record<PinRow['direction'], string>> = {
  in: 'input',
  out: 'output',
  analogue: 'converter',
  serial: 'serial',
};

/** What must stand outside the chip at a pin of this kind. */
function outside({ name, direction, active }: PinRow): string {
  if (name === 'LED') return 'the board’s own LED; nothing else';
  if (direction === 'out') return '10 kohm to ground';
  if (direction === 'analogue') return 'a source of at most 1 kohm';
  if (direction === 'serial') return 'through the isolated adapter';
  return active === 'low' ? 'isolator, low while current flows' : 'isolator, high while the line is high';
}

const line = (cells: readonly string[]): string => `| ${cells.join(' | ')} |`;

/** `hardware-notes/pins.gen.md`: the pin table for whoever wires the board. */
export function pinsPage(): string {
  const titles = ['GPIO', 'name', 'kind', 'true when', 'resistor in the chip', 'outside', 'carries', 'meaning'];
  const rows = PIN_ROWS.map((row) => [
    String(row.gpio),
    `\`${row.name}\``,
    DIRECTIONS[row.direction],
    row.active === '' ? '–' : row.active,
    row.pull,
    outside(row),
    row.carries === '' ? '–' : `\`${row.carries}\``,
    row.meaning,
  ]);
  return [
    '<!-- Generated from the rows in firmware/ports/rp2040 by `npm run generate`. Do not edit. -->',
    '# Pins',
    '',
    '> Every pin lies on the low side of the barrier. A wire that has touched the arc circuit, the torch lead or the mains',
    '> does not belong on one: voltages of an open plasma arc kill. Prove circuits dead before you wire, with a meter proved',
    '> before and after ([how](dead.md)). Local electrical code and licensed practice come first. This is not an instruction',
    '> to open a supply.',
    '',
    line(titles),
    line(titles.map(() => '---')),
    ...rows.map(line),
    '',
    'The resistor outside holds an output at rest while the chip is in reset, being flashed or without power; the weak one',
    'in the chip only helps. What permits something (key, stop chain, torch seated) is true only while current flows, so a',
    'broken wire reads as key off, chain open, torch knocked out. What each wire does when it is open or bridged was tried:',
    '[single faults](single-faults.md). The readback of the firing relay needs a wiring of its own, so that a broken wire',
    'reads as closed: [firing circuit](firing.md).',
    '',
  ].join('\n');
}
