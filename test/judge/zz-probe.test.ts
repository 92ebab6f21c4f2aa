import { writeFileSync } from 'node:fs';
import { it } from 'vitest';
import { caseSetup } from '../../sim/campaign/case.js';
import { CaseRunner, rangesAround, SHORT_CUTS } from '../../sim/campaign/index.js';
import { Judge, requirementContext } from '../../sim/judge/index.js';
import { defaultSetup } from '../../sim/run/setup/index.js';

it('probe', () => {
  const setup = defaultSetup();
  const runner = new CaseRunner({ setup, ranges: rangesAround(setup), programs: SHORT_CUTS, seed: 1 });
  const lines: string[] = [];
  const worst = new Map<string, { n: number; broken: number; list: [number, number][] }>();
  const from = Number(process.env.FROM ?? 0),
    to = Number(process.env.TO ?? 300);
  for (let k = from; k < to; k++) {
    const one = runner.caseOf(k);
    const { box, machine } = caseSetup(setup, one);
    const judge = new Judge(requirementContext(box, { relay_release_ms: machine.firing.relay_release_ms }));
    runner.judge(k, one, [judge]);
    for (const r of judge.results()) {
      if (r.margin === null) continue;
      const w = worst.get(r.name) ?? { n: 0, broken: 0, list: [] };
      w.n++;
      w.list.push([r.margin, k]);
      worst.set(r.name, w);
      if (!r.kept && r.number >= 12) {
        w.broken++;
        lines.push(
          `${r.name} case ${k} margin ${r.margin} tick ${r.worst_tick} faults ${JSON.stringify(one.faults)} ops ${one.operator.map((e) => e.line + (e.on ? '+' : '-') + e.at_s)} chance ${one.values['world.arc.strike_fail_chance']}`,
        );
      }
    }
  }
  for (const [name, w] of worst)
    lines.push(
      `${name}: tested ${w.n} broken ${w.broken} least ${w.list
        .sort((a, b) => a[0] - b[0])
        .slice(0, 4)
        .map(([m, k]) => `${m.toFixed(3)}(${k})`)
        .join(' ')}`,
    );
  writeFileSync('/tmp/probe.txt', lines.join('\n') + '\n');
});
