const program = (name: string, ...lines: string[]) => ({
  name,
  text: ['G21 G90 G17 F3000', ...lines, 'M5', 'G4 P1', 'M30', ''].join('\n'),
});

/** What a campaign cuts when no program is named: short cuts with what matters in them. Invented, like the example. */
export const SHORT_CUTS = [
  program('straight.nc', 'G0 X50 Y100', 'M3', 'G1 X350'),
  program('corner.nc', 'G0 X50 Y50', 'M3', 'G1 X150', 'G1 Y150'),
  program('crossing.nc', 'G0 X150 Y50', 'M3', 'G1 Y150', 'M5', 'G4 P1', 'G0 X50 Y100', 'M3', 'G1 X250'),
] as const;
