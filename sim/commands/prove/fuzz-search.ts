import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { StandoffError } from '../../base/index.js';
import { type Campaign, CaseRunner, caseScenario, runSearches, type SearchResult } from '../../campaign/index.js';
import { writeScenario } from '../../run/setup/index.js';
import { asciiText, terminalStyle } from '../../views/terminal/index.js';
import { tableLines } from '../../views/terminal/table.js';
import { wrapText } from '../../views/terminal/text.js';
import { EXIT } from '../base/exit.js';
import { prepareCases } from '../../campaign/stored-cases.js';

interface SearchOptions {
  readonly search: string;
  readonly runs: number;
  readonly workers: number;
  readonly cases?: string | undefined;
  readonly force?: true | undefined;
  readonly json?: true | undefined;
  readonly plain?: true | undefined;
}

/** A requirement without a distance says never: 0 when kept. There is no margin to follow down. */
const graded = (unit: string) => unit !== 'times';

/**
 * Looks for a cut that breaks a requirement, or every requirement in turn, by following its margin.
 * @returns the exit status
 * @throws StandoffError `search-requirement`
 */
export async function searchRequirements(campaign: Campaign, options: SearchOptions): Promise<number> {
  const runner = new CaseRunner(campaign);
  const known = runner.judge(0).requirements;
  const requirements =
    options.search === 'all'
      ? known.filter((requirement) => graded(requirement.unit))
      : known.filter(({ name }) => name === options.search);
  if (requirements.length === 0) {
    const list = known.map((requirement) => requirement.name).join(', ');
    throw new StandoffError(
      'search-requirement',
      `no requirement is called ${options.search}`,
      `there is ${list}; or all`,
    );
  }
  if (options.cases !== undefined) prepareCases(options.cases, options.force === true);
  const all = await runSearches(
    campaign,
    requirements.map((requirement) => requirement.name),
    options.runs,
    options.workers,
  );
  const results = requirements.map((requirement) => ({
    requirement,
    ...bestOf(all.filter((result) => result.requirement === requirement.name)),
  }));
  if (options.cases !== undefined) {
    for (const { requirement, best } of results) {
      if (best.case === null) continue;
      const file = join(options.cases, `${best.broken_at === null ? 'near' : 'broken'}-${requirement.name}.yaml`);
      const scenario = caseScenario(campaign.setup, best.case, runner.programOf(best.index));
      writeFileSync(file, writeScenario(scenario));
    }
  }
  if (options.json) process.stdout.write(`${JSON.stringify(results, null, 1)}\n`);
  else process.stdout.write(textOf(results, options));
  return results.some(({ best }) => best.broken_at !== null) ? EXIT.broken : EXIT.kept;
}

/** The search that came nearest; of equal ones the first. */
function bestOf(results: readonly SearchResult[]) {
  const cuts = results.reduce((sum, result) => sum + result.cuts, 0);
  const best = results.reduce((a, b) =>
    (b.margin ?? Number.POSITIVE_INFINITY) < (a.margin ?? Number.POSITIVE_INFINITY) ? b : a,
  );
  return { cuts, best };
}

function textOf(
  results: readonly {
    readonly requirement: { readonly name: string; readonly unit: string };
    readonly cuts: number;
    readonly best: SearchResult;
  }[],
  options: SearchOptions,
): string {
  const style = terminalStyle(process.env, process.stdout, options.plain);
  const rows = results.map(({ requirement, cuts, best }) => [
    requirement.name,
    String(cuts),
    best.margin === null ? 'never tested' : `${Number(best.margin.toPrecision(3))} ${requirement.unit}`,
    best.broken_at === null ? '' : `BROKEN at cut ${best.broken_at}`,
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
