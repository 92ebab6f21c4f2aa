/**
 * @typedef {{ file: string, line: number, kind: 'statement' | 'branch', what: string }} Probe
 */

/** Adds up what several processes have counted; throws when a list does not fit the map. */
export function merge(lists, length) {
  const sum = new Array(length).fill(0);
  for (const list of lists) {
    if (list.length !== length) throw new Error(`a list of ${list.length} counters, the map has ${length}`);
    for (let i = 0; i < length; i++) sum[i] += list[i];
  }
  return sum;
}

/**
 * Per file: reached and all, of statements and branches; and every probe that was never reached.
 * @param {readonly Probe[]} probes
 * @param {readonly number[]} hits
 */
export function summarise(probes, hits) {
  const files = new Map();
  const unreached = [];
  probes.forEach((probe, i) => {
    const row = files.get(probe.file) ?? { statement: [0, 0], branch: [0, 0] };
    files.set(probe.file, row);
    row[probe.kind][1]++;
    if (hits[i] > 0) row[probe.kind][0]++;
    else unreached.push(probe);
  });
  return { files, unreached };
}

/** The report as text: a line a file, the total, then each place that was not reached. */
export function reportText({ files, unreached }) {
  const share = ([reached, all]) => `${reached}/${all}`.padStart(11);
  const total = { statement: [0, 0], branch: [0, 0] };
  const lines = [`${'control module'.padEnd(36)}${'statements'.padStart(11)}${'branches'.padStart(11)}`];
  for (const [file, row] of [...files].sort(([a], [b]) => (a < b ? -1 : 1))) {
    lines.push(`${file.padEnd(36)}${share(row.statement)}${share(row.branch)}`);
    for (const kind of ['statement', 'branch']) {
      total[kind][0] += row[kind][0];
      total[kind][1] += row[kind][1];
    }
  }
  lines.push(`${'all'.padEnd(36)}${share(total.statement)}${share(total.branch)}`, '');
  if (unreached.length === 0) lines.push('every statement and branch was reached');
  else lines.push(`${unreached.length} not reached:`);
  for (const { file, line, kind, what } of unreached) lines.push(`  ${file}:${line} ${kind} ${what}`);
  return lines.join('\n');
}
