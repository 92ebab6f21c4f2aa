import type { MachineConfig, WorldConfig } from './config.gen.js';

/** The flank of a bump h·(1 − (r/R)²)² is steepest at R/√3, by 16/(3·√3) of its height over its diameter. */
export const BUMP_FLANK = 3.08;

interface SheetOnTable {
  readonly machine: { readonly table: Pick<MachineConfig['table'], 'sheet_width_mm'> };
  readonly world: Pick<WorldConfig, 'sheet'>;
}

/** The steepest rise of the sheet along any path, mm/mm: of the plane, at the end of the bow, at the foot of a wave, on the flank of a bump. */
export function steepestSheet({ machine, world: { sheet } }: SheetOnTable): number {
  const plane = Math.sqrt(sheet.tilt_x * sheet.tilt_x + sheet.tilt_y * sheet.tilt_y);
  // A parabola over the width is steepest at its ends: four times its height over its length.
  const bow = (4 * Math.abs(sheet.bow_mm)) / machine.table.sheet_width_mm;
  const wave = (2 * Math.PI * sheet.wave_mm) / sheet.wave_length_mm;
  const bump = (BUMP_FLANK * sheet.bump_mm) / Math.min(sheet.bump_size_mm, sheet.bump_pitch_mm);
  return plane + bow + wave + bump;
}
