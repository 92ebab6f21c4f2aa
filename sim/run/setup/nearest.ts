/**
 * The known word that a mistyped one was probably meant to be, or undefined when none is close: at most a
 * third of its letters may differ (optimal string alignment distance: insert, delete, change, swap neighbours).
 */
export function nearestWord(word: string, known: Iterable<string>): string | undefined {
  const wanted = word.toLowerCase();
  let nearest: string | undefined;
  let least = Math.max(1, Math.floor(wanted.length / 3)) + 1;
  for (const candidate of known) {
    if (Math.abs(candidate.length - wanted.length) >= least) continue;
    const distance = editDistance(wanted, candidate.toLowerCase());
    if (distance < least) {
      least = distance;
      nearest = candidate;
    }
  }
  return nearest;
}

/** Known words that go on where this one stops, such as `cut_height_mm` for `cut_height`; at most three. */
export function longerWords(word: string, known: Iterable<string>): string[] {
  const start = word.toLowerCase().replace(/_$/, '');
  if (start.length < 3) return [];
  const longer = [...new Set(known)].filter((candidate) => candidate.toLowerCase().startsWith(`${start}_`));
  return longer.slice(0, 3);
}

function editDistance(left: string, right: string): number {
  let before: number[] = [];
  let row = Array.from({ length: right.length + 1 }, (_, index) => index);
  for (let i = 1; i <= left.length; i++) {
    const next = [i];
    for (let j = 1; j <= right.length; j++) {
      const changed = left[i - 1] === right[j - 1] ? 0 : 1;
      let cost = Math.min(row[j]! + 1, next[j - 1]! + 1, row[j - 1]! + changed);
      const swapped = i > 1 && j > 1 && left[i - 1] === right[j - 2] && left[i - 2] === right[j - 1];
      if (swapped) cost = Math.min(cost, before[j - 2]! + 1);
      next.push(cost);
    }
    before = row;
    row = next;
  }
  return row[right.length]!;
}
