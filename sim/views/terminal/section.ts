import {
  DotCanvas,
  fitText,
  fixed,
  type Layer,
  type Picture,
  TONE_PLAIN,
  TONE_QUIET,
  TONE_STRONG,
  TONE_TARGET,
} from '../text/index.js';
import { GAP_EDGE, GAP_KERF, greater, lesser, PATH_BIN_MM, type PathRing } from './rings.js';

/** A rectangle of a picture, in character cells. */
export interface Region {
  readonly row: number;
  readonly column: number;
  readonly columns: number;
  readonly rows: number;
}

/** Where the torch is drawn: path, height of tip (NaN: nobody knows) and sheet, and whether an arc burns. */
interface TorchPlace {
  readonly path_mm: number;
  readonly torch_mm: number;
  readonly plate_mm: number;
  readonly burning: boolean;
}

const HATCH = 0;
const SURFACE = 1;
const TARGET = 2;
const TRACE = 3;
const ARC = 4;
const TORCH = 5;
const LAYERS: readonly Layer[] = [
  { tone: TONE_QUIET, ascii: ['/', '/', '/'] },
  { tone: TONE_PLAIN, ascii: ['"', '=', '_'] },
  { tone: TONE_TARGET, ascii: [':', ':', ':'] },
  { tone: TONE_STRONG, ascii: ['`', '-', '.'] },
  { tone: TONE_STRONG, ascii: ['!', '!', '!'] },
  { tone: TONE_STRONG, ascii: ['#', '#', '#'] },
];

/** Width of the height labels on the left. */
export const LABEL_COLUMNS = 5;
/** Path shown ahead of the torch, so that its whole nozzle is in the picture. */
const AHEAD_MM = 6;
const SHORTEST_MM = 60;
const LONGEST_MM = 100;
const MM_PER_DOT_ACROSS = 0.5;
/** A torch further up than this is named, not drawn: the sheet is what matters. */
const FARTHEST_DRAWN_MM = 8;
/** Steps of height for a dot, so that the scale changes seldom and reads well. */
const MM_PER_DOT_UP = [0.1, 0.125, 0.15, 0.2, 0.25, 0.3, 0.4, 0.5, 0.6, 0.8, 1, 1.5, 2, 3, 5];

/** Scale of a section, chosen before it is drawn so that its heading can state it. */
type SectionScale = ReturnType<typeof sectionScale>;

/**
 * Chooses what part of the path and which heights a section shows.
 * @param right_mm path at the right edge; by default a nozzle's width ahead of the torch.
 */
export function sectionScale(region: Region, ring: PathRing, torch: TorchPlace, right_mm = torch.path_mm + AHEAD_MM) {
  const dots = 2 * Math.max(1, region.columns - LABEL_COLUMNS);
  const span_mm = Math.min(LONGEST_MM, Math.max(SHORTEST_MM, dots * MM_PER_DOT_ACROSS));
  const across = span_mm / dots;
  const left_mm = Math.floor((right_mm - span_mm) / across) * across;
  let low_mm = torch.plate_mm;
  let high_mm = torch.plate_mm + 2;
  if (torch.torch_mm - torch.plate_mm <= FARTHEST_DRAWN_MM) {
    low_mm = Math.min(low_mm, torch.torch_mm);
    high_mm = Math.max(high_mm, torch.torch_mm);
  }
  const contour = ring.at('contour', Math.floor(torch.path_mm / PATH_BIN_MM));
  const first = Math.floor(left_mm / PATH_BIN_MM);
  const last = Math.ceil((left_mm + span_mm) / PATH_BIN_MM);
  for (let bin = Math.max(first, ring.oldest); bin <= Math.min(last, ring.newest); bin++) {
    // Another contour may lie at quite another height; the one under the torch sets the scale.
    if (ring.at('contour', bin) !== contour) continue;
    const plate_mm = ring.at('plate_mm', bin);
    const target_mm = plate_mm + ring.at('target_mm', bin);
    low_mm = lesser(lesser(low_mm, plate_mm), ring.at('low_mm', bin));
    high_mm = greater(greater(high_mm, target_mm), ring.at('high_mm', bin));
  }
  // Room for a strip of sheet below and for the end of the nozzle above.
  low_mm -= 0.8;
  high_mm += 0.8;
  const height = 4 * region.rows;
  const up =
    MM_PER_DOT_UP.find((step) => {
      const grid = 4 * step;
      return Math.floor(low_mm / grid) * grid + height * step >= high_mm;
    }) ?? MM_PER_DOT_UP[MM_PER_DOT_UP.length - 1];
  return {
    mm_per_dot_across: across,
    mm_per_dot_up: up,
    /** Height at the bottom edge, and path at the left edge. */
    bottom_mm: Math.floor(low_mm / (4 * up)) * 4 * up,
    left_mm,
    /** How much larger heights are drawn than lengths along the path. */
    exaggeration: across / up,
  };
}

/**
 * Plate and torch in section along the path: the sheet hatched as in a technical drawing, the way of the
 * torch tip as a line, the target standoff dotted, a gap where metal is gone.
 */
export function drawSection(
  picture: Picture,
  region: Region,
  ring: PathRing,
  torch: TorchPlace,
  scale: SectionScale,
  thickness_mm: number,
): void {
  const columns = region.columns - LABEL_COLUMNS;
  const canvas = new DotCanvas(columns, region.rows, LAYERS);
  const y = (height_mm: number) =>
    canvas.height - 1 - Math.floor((height_mm - scale.bottom_mm) / scale.mm_per_dot_up + 0.001);
  const first_dot = Math.round(scale.left_mm / scale.mm_per_dot_across);
  const thickness = Math.max(2, Math.round(thickness_mm / scale.mm_per_dot_up));

  let previous_contour = -1;
  for (let x = 0; x < canvas.width; x++) {
    const from_mm = scale.left_mm + x * scale.mm_per_dot_across;
    const bins = gather(ring, from_mm, from_mm + scale.mm_per_dot_across);
    if (bins.contour !== previous_contour && bins.contour >= 0) {
      if (previous_contour >= 0) breakMark(picture, region, LABEL_COLUMNS + (x >> 1));
      previous_contour = bins.contour;
    }
    if (Number.isNaN(bins.plate_mm)) continue;
    const top = y(bins.plate_mm);
    if (bins.gap === 0) {
      canvas.upright(x, top, top + 1, SURFACE);
      // Anchored to the path and the sheet, so that the hatch travels with the metal.
      for (let depth = 2; depth <= thickness; depth++)
        if ((first_dot + x + depth) % 4 === 0) canvas.dot(x, top + depth, HATCH);
      canvas.dot(x, top + thickness, SURFACE);
    }
    if ((first_dot + x) % 3 === 0) canvas.dot(x, y(bins.plate_mm + bins.target_mm), TARGET);
    if (!Number.isNaN(bins.low_mm)) canvas.upright(x, y(bins.low_mm), y(bins.high_mm), TRACE);
  }
  const inside = y(torch.torch_mm) >= 1;
  if (inside) drawTorch(canvas, torch, scale, y);
  canvas.paint(picture, region.row, region.column + LABEL_COLUMNS);
  if (!inside && !Number.isNaN(torch.torch_mm)) {
    const words = `▲ tip ${fixed(torch.torch_mm - torch.plate_mm, 1)} mm above the sheet`;
    picture.textBefore(region.row, region.column + region.columns, words, TONE_STRONG);
  }
  heightLabels(picture, region, scale);
}

/** What the bins under one column of dots have in common. */
function gather(ring: PathRing, from_mm: number, to_mm: number) {
  const nan = Number.NaN;
  const all = { plate_mm: nan, target_mm: nan, low_mm: nan, high_mm: nan, gap: 0, contour: -1 };
  const first = Math.max(Math.floor(from_mm / PATH_BIN_MM), ring.oldest);
  const last = Math.min(Math.ceil(to_mm / PATH_BIN_MM) - 1, ring.newest);
  for (let bin = first; bin <= last; bin++) {
    if (Number.isNaN(ring.at('plate_mm', bin))) continue;
    all.plate_mm = ring.at('plate_mm', bin);
    all.target_mm = ring.at('target_mm', bin);
    all.gap |= ring.at('gap', bin) & (GAP_KERF | GAP_EDGE);
    all.contour = ring.at('contour', bin);
    all.low_mm = lesser(all.low_mm, ring.at('low_mm', bin));
    all.high_mm = greater(all.high_mm, ring.at('high_mm', bin));
  }
  return all;
}

/** Between two contours the torch was carried elsewhere: the sheet may begin at another height. */
function breakMark(picture: Picture, region: Region, offset: number): void {
  for (let row = 0; row < region.rows; row++)
    picture.put(region.row + row, region.column + offset, picture.style.unicode ? '┊' : ':', TONE_QUIET);
}

/** A nozzle standing on its tip, and the arc below it. */
function drawTorch(canvas: DotCanvas, torch: TorchPlace, scale: SectionScale, y: (height_mm: number) => number): void {
  const x = Math.floor((torch.path_mm - scale.left_mm) / scale.mm_per_dot_across);
  const tip = y(torch.torch_mm);
  if (torch.burning) canvas.upright(x, tip + 1, y(torch.plate_mm) + 1, ARC);
  const reach = Math.round(AHEAD_MM / scale.mm_per_dot_across) - 1;
  for (let up = 0; tip - up >= 0; up++) {
    const half = Math.min(2 + up, reach);
    for (let at = -half; at <= half; at++) canvas.dot(x + at, tip - up, TORCH);
  }
}

/** Heights in whole millimetres beside the rows that they fall on, at least two rows apart. */
function heightLabels(picture: Picture, region: Region, scale: SectionScale): void {
  const mm_per_row = 4 * scale.mm_per_dot_up;
  const step = [1, 2, 5, 10, 20, 50].find((candidate) => candidate >= 1.9 * mm_per_row) ?? 100;
  const top_mm = scale.bottom_mm + region.rows * mm_per_row;
  for (let height = Math.ceil(scale.bottom_mm / step) * step; height < top_mm - 1e-6; height += step) {
    const row = region.rows - 1 - Math.floor((height - scale.bottom_mm) / mm_per_row + 1e-6);
    const label = height > 0 ? `+${height}` : String(height).replace('-', '−');
    picture.textBefore(region.row + row, region.column + LABEL_COLUMNS - 1, label, TONE_QUIET);
  }
}

/**
 * A rule with the unit of the axis at its left, what is shown, and a note at its right.
 * @param words from the fullest to the shortest: the first that leaves room for the note is taken, else
 *   the first that fits without it, else the shortest is cut.
 */
export function heading(
  picture: Picture,
  region: Region,
  unit: string,
  words: readonly [string, ...string[]],
  note: string,
): void {
  const end = region.column + region.columns;
  const first = region.column + LABEL_COLUMNS;
  picture.rule(region.row, first, end);
  picture.textBefore(region.row, first - 1, unit, TONE_QUIET);
  const room = region.columns - LABEL_COLUMNS - 4;
  const together = words.find((text) => text.length + note.length + 3 <= room);
  const alone = words.find((text) => text.length <= room) ?? fitText(words[words.length - 1], room);
  picture.text(region.row, first + 1, ` ${together ?? alone} `);
  if (note !== '' && together !== undefined) picture.textBefore(region.row, end - 1, ` ${note} `, TONE_QUIET);
}

/** Distances behind the torch in whole tens of millimetres. */
function drawPathAxis(picture: Picture, region: Region, scale: SectionScale, zero_mm: number): void {
  const column = (path_mm: number) =>
    region.column + LABEL_COLUMNS + Math.floor((path_mm - scale.left_mm) / scale.mm_per_dot_across / 2);
  const end = region.column + region.columns;
  for (let back_mm = 0; ; back_mm += 10) {
    const at = column(zero_mm - back_mm);
    if (at < region.column + LABEL_COLUMNS + 1) break;
    const label = back_mm === 0 ? '0 mm' : `−${back_mm}`;
    if (at + label.length <= end) picture.text(region.row, back_mm === 0 ? at : at - 1, label, TONE_QUIET);
  }
}

/**
 * A section with its heading and, where there is a row for it, its axis.
 * @param words from the fullest to the shortest; @param right_mm as of `sectionScale`.
 */
export function drawSectionView(
  picture: Picture,
  at: { readonly sectionRule: Region; readonly section: Region; readonly pathAxis: Region | undefined },
  ring: PathRing,
  torch: TorchPlace,
  words: readonly [string, ...string[]],
  thickness_mm: number,
  right_mm?: number,
): void {
  const scale = sectionScale(at.section, ring, torch, right_mm);
  heading(picture, at.sectionRule, 'mm', words, `heights ×${fixed(scale.exaggeration, 1)}`);
  drawSection(picture, at.section, ring, torch, scale, thickness_mm);
  if (at.pathAxis) drawPathAxis(picture, at.pathAxis, scale, torch.path_mm);
}
