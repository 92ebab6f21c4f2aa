// Names that programs and setups share.

/** The coordinate systems that a program can choose, in the order of their P numbers. */
export const SYSTEM_WORDS = ['G54', 'G55', 'G56', 'G57', 'G58', 'G59', 'G59.1', 'G59.2', 'G59.3'] as const;

/** In full, so that a search for a name finds its use. What a setup calls machine zero, the origins of the coordinate systems and the two reference points. */
export const ORIGIN_NAMES = {
  G53: { x: 'G53_x_mm', y: 'G53_y_mm' },
  G54: { x: 'G54_x_mm', y: 'G54_y_mm' },
  G55: { x: 'G55_x_mm', y: 'G55_y_mm' },
  G56: { x: 'G56_x_mm', y: 'G56_y_mm' },
  G57: { x: 'G57_x_mm', y: 'G57_y_mm' },
  G58: { x: 'G58_x_mm', y: 'G58_y_mm' },
  G59: { x: 'G59_x_mm', y: 'G59_y_mm' },
  'G59.1': { x: 'G59_1_x_mm', y: 'G59_1_y_mm' },
  'G59.2': { x: 'G59_2_x_mm', y: 'G59_2_y_mm' },
  'G59.3': { x: 'G59_3_x_mm', y: 'G59_3_y_mm' },
  G28: { x: 'G28_x_mm', y: 'G28_y_mm' },
  G30: { x: 'G30_x_mm', y: 'G30_y_mm' },
} as const;
export type OriginWord = keyof typeof ORIGIN_NAMES;

/** Each place in mm from the lower left corner of the sheet, by its name in a setup. A missing one is 0. */
export type Origins = Readonly<Record<string, number>>;
