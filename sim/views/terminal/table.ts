/** Left or right alignment of a column. */
export type Alignment = 'left' | 'right';

/**
 * Rows under a heading, columns two spaces apart, each as wide as its widest cell.
 * @returns lines, or undefined when they would be wider than `width`.
 */
export function tableLines(
  head: readonly string[],
  rows: readonly (readonly string[])[],
  alignment: readonly Alignment[],
  width: number,
): string[] | undefined {
  const widths = head.map((cell, column) =>
    Math.max(...[cell, ...rows.map((row) => row[column])].map((text) => [...text].length)),
  );
  const total = widths.reduce((sum, each) => sum + each, 0) + 2 * (widths.length - 1);
  if (total > width) return undefined;
  const line = (cells: readonly string[]) =>
    cells
      .map((cell, column) => {
        const fill = ' '.repeat(widths[column] - [...cell].length);
        return alignment[column] === 'left' ? cell + fill : fill + cell;
      })
      .join('  ')
      .trimEnd();
  return [line(head), ...rows.map(line)];
}
