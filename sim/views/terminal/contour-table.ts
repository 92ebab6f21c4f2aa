import type { ContourFigures } from '../../judge/index.js';
import { type Alignment, tableLines } from './table.js';
import { counted, fixed, wrapText } from './text.js';

/** A long program shows its worst contours only; nobody reads ten thousand rows. */
const MOST_ROWS = 24;

const HEAD = ['no.', 'line', 'mm', 'starts', 'rms', '95 %', 'worst', 'least', 'holds', 'faults'];
const ALIGNMENT: readonly Alignment[] = [
  ...new Array<Alignment>(8).fill('right'),
  ...new Array<Alignment>(2).fill('left'),
];

/** Contours in a table, or one paragraph each where the table would be too wide. */
export function contourLines(contours: readonly ContourFigures[], width: number): string[] {
  const shown = worstFirst(contours);
  const rows = shown.map(cells);
  // The last column is left out when it has nothing to say.
  const used = shown.some(({ faults }) => faults.length > 0) ? HEAD.length : HEAD.length - 1;
  const table = tableLines(
    HEAD.slice(0, used),
    rows.map((row) => row.slice(0, used)),
    ALIGNMENT,
    width,
  );
  const lines = table ?? shown.flatMap((one) => paragraph(one, width));
  const rest = contours.length - shown.length;
  if (rest > 0)
    lines.push(...wrapText(`and ${counted(rest, 'contour')} without fault and with a smaller worst error.`, width));
  return lines;
}

/** All of them in their order, or the worst MOST_ROWS of them in their order. */
function worstFirst(contours: readonly ContourFigures[]): readonly ContourFigures[] {
  if (contours.length <= MOST_ROWS) return contours;
  const weight = (one: ContourFigures) => 1000 * one.faults.length + (one.standoff_error_worst_mm ?? 0);
  const worst = [...contours].sort((a, b) => weight(b) - weight(a)).slice(0, MOST_ROWS);
  return worst.sort((a, b) => a.contour - b.contour);
}

const millimetres = (value: number | null) => fixed(value ?? Number.NaN, 2);

function cells(one: ContourFigures): string[] {
  return [
    String(one.contour + 1),
    String(one.line),
    fixed(one.length_mm, 0),
    String(one.starts),
    fixed(one.standoff_error_rms_mm ?? Number.NaN, 3),
    millimetres(one.standoff_error_p95_mm),
    millimetres(one.standoff_error_worst_mm),
    millimetres(one.least_standoff_mm),
    holdsText(one) || '-',
    faultsText(one) || '-',
  ];
}

function paragraph(one: ContourFigures, width: number): string[] {
  const parts = [
    `${one.contour + 1} (line ${one.line}): ${fixed(one.length_mm, 0)} mm, ${counted(one.starts, 'start')}`,
    `error rms ${cells(one)[4]}, 95 % ${millimetres(one.standoff_error_p95_mm)}, worst ${millimetres(one.standoff_error_worst_mm)} mm`,
    `least standoff ${millimetres(one.least_standoff_mm)} mm`,
  ];
  if (one.holds.length > 0) parts.push(`holds: ${holdsText(one)}`);
  if (one.faults.length > 0) parts.push(`faults: ${faultsText(one)}`);
  return wrapText(`${parts.join('; ')}.`, width, 2);
}

/** `2 corner, 1 crossing`. */
function holdsText(one: ContourFigures): string {
  return one.holds
    .filter(({ count }) => count > 0)
    .map(({ count, cause }) => `${count} ${cause}`)
    .join(', ');
}

function faultsText(one: ContourFigures): string {
  return one.faults.map(({ name }) => name).join(', ');
}
