// A mode of standoff fuzz with an output of its own.

import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { StandoffError } from '../../base/index.js';
import {
  bestSearch,
  type Campaign,
  CaseRunner,
  caseScenario,
  runSearches,
  type SearchResult,
} from '../../campaign/index.js';
import type { RequirementResult } from '../../judge/index.js';
import { loadControlModule } from '../../run/controller/index.js';
import { writeScenario } from '../../run/setup/index.js';
import { asciiText, tableLines, terminalStyle, wrapText } from '../../views/text/index.js';
import { EXIT } from '../base/command-line.js';
import { prepareCases } from './fuzz-cases.js';

interface SearchOptions {
  readonly search: string;
  readonly runs: number;
  readonly workers: number;
  readonly cases?: string | undefined;
  readonly force?: true | undefined;
  readonly json?: true | undefined;
  readonly plain?: true | undefined;
}

/** What the searches for one requirement came to. */
interface Searched {
  readonly requirement: string;
  readonly kind: RequirementResult['kind'];
  readonly unit: string;
  readonly cuts: number;
  readonly best: SearchResult;
}

/** A requirement without a distance says never: 0 when kept. There is no margin to follow down. */
const graded = (unit: string) => unit !== 'times';

/**
 * Looks for a cut that breaks a requirement or misses a quality goal, or breaks every requirement in turn, by following its
 * margin.
 * @returns the exit status
 * @throws StandoffError `search-requirement`
 */
export async function searchRequirements(campaign: Campaign, options: SearchOptions): Promise<number> {
  const runner = new CaseRunner(campaign);
  const { requirements, goals } = runner.judge(0);
  const known = [...requirements, ...goals];
  const wanted =
    options.search === 'all'
      ? requirements.filter(({ unit }) => graded(unit))
      : known.filter(({ name }) => name === options.search);
  if (wanted.length === 0) {
    const list = known.map(({ name }) => name).join(', ');
    const what = `no requirement and no quality goal is called ${options.search}`;
    throw new StandoffError('search-requirement', what, `there is ${list}; or all`);
  }
  if (options.cases !== undefined) prepareCases(options.cases, options.force === true);
  const names = wanted.map(({ name }) => name);
  const all = await runSearches(campaign, names, options.runs, options.workers);
  const results = wanted.map(({ name, kind, unit }): Searched => {
    const own = all.filter(({ requirement }) => requirement === name);
    return { requirement: name, kind, unit, cuts: own.reduce((sum, { cuts }) => sum + cuts, 0), best: bestSearch(own) };
  });
  if (options.cases !== undefined) {
    for (const { requirement, kind, best } of results) {
      if (best.case === null) continue;
      const found = best.broken_at === null ? 'near' : kind === 'goal' ? 'missed' : 'broken';
      const file = join(options.cases, `${found}-${requirement}.yaml`);
      writeFileSync(file, writeScenario(caseScenario(campaign.setup, best.case, runner.programOf(best.index))));
    }
  }
  const json = { format: 'standoff search 2', module_sha256: loadControlModule().sha256, seed: campaign.seed, results };
  process.stdout.write(options.json ? `${JSON.stringify(json, null, 1)}\n` : textOf(results, options));
  const broken = results.some(({ kind, best }) => kind === 'requirement' && best.broken_at !== null);
  return broken ? EXIT.broken : EXIT.kept;
}

function textOf(results: readonly Searched[], options: SearchOptions): string {
  const style = terminalStyle(process.env, process.stdout, options.plain);
  const rows = results.map(({ requirement, kind, unit, cuts, best }) => [
    requirement,
    String(cuts),
    best.margin === null ? 'never tested' : `${Number(best.margin.toPrecision(3))} ${unit}`,
    best.broken_at === null ? '' : `${kind === 'goal' ? 'missed' : 'BROKEN'} at cut ${best.broken_at}`,
  ]);
  const head = ['requirement', 'cuts', 'least margin', ''];
  const lines =
    tableLines(head, rows, ['left', 'right', 'right', 'left'], style.columns) ?? rows.map((row) => row.join('  '));
  const closing = wrapText(
    'A search follows the margin of one requirement down. On planted defects it mostly needed fewer cuts than chance; that it ' +
      'found nothing bounds no probability.',
    style.columns,
  );
  const text = `${[...lines, '', ...closing].join('\n')}\n`;
  return style.unicode ? text : asciiText(text);
}
