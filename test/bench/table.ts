/** A table for the terminal: the first column to the left, the others to the right. */
export function table(rows: readonly (readonly string[])[]): string {
  const widths = rows[0].map((_, column) => Math.max(...rows.map((row) => row[column].length)));
  return rows
    .map((row) =>
      row.map((cell, column) => (column === 0 ? cell.padEnd(widths[0]) : cell.padStart(widths[column]))).join('  '),
    )
    .join('\n');
}

/** `0.044` or `-` for no value. */
export function figure(value: number, digits = 3): string {
  return Number.isFinite(value) ? value.toFixed(digits) : '-';
}

export function heading(text: string): void {
  console.log(`\n${text}\n${'-'.repeat(text.length)}`);
}
