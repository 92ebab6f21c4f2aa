import { describe, expect, it } from 'vitest';
import { type CampaignRecord, centreOf, type GainMap, rangesAround } from '../../sim/campaign/index.js';
import { UNTRIED } from '../../sim/campaign/map.js';
import { emptyQuality } from '../../sim/campaign/quality.js';
import type { RequirementTally } from '../../sim/campaign/tally.js';
import { shellWords, withoutOptions } from '../../sim/commands/base/command-line.js';
import { nextSteps } from '../../sim/commands/prove/fuzz.js';
import { CampaignProgress, campaignText } from '../../sim/commands/prove/fuzz-report.js';
import { mapHtml, mapSvg } from '../../sim/commands/prove/map.js';
import { mapText } from '../../sim/commands/prove/map-text.js';
import { defaultSetup } from '../../sim/run/setup/index.js';

const requirement = (changes: Partial<RequirementTally> = {}): RequirementTally => ({
  statement: 'what it says',
  unit: 'mm',
  tested: 1000,
  broken: 0,
  beyond: 0,
  worst_margin: 0.5,
  worst_case: 17,
  first_broken: null,
  ...changes,
});

function recordOf(requirements: Record<string, RequirementTally>, done = 1000): CampaignRecord {
  const setup = defaultSetup();
  return {
    format: 'standoff campaign 6',
    module_sha256: 'a'.repeat(64),
    simulator_sha256: 'b'.repeat(64),
    runs: 1000,
    part: [0, 1000],
    covered: [[0, done]],
    campaign: { setup, ranges: rangesAround(setup), programs: [], seed: 1 },
    tally: {
      cases: done,
      ticks: 1e6,
      ended: { finished: done - 3, stopped: 3 },
      stops: { 'box no-arc': 1, 'operator key': 2 },
      faults: {},
      requirements,
      excused: 0,
      finished: {},
      quality: emptyQuality(),
    },
  };
}

const style = (columns: number) => ({ unicode: true, colour: false, live: false, columns });
const flat = (text: string) => text.replace(/\s+/g, ' ');
const REQUIREMENTS = {
  'hand-back': requirement({ unit: 'times', worst_margin: 0 }),
  'descent-only-in-follow': requirement({ worst_margin: 0.00000336 }),
  floor: requirement({ worst_margin: 0.458, worst_case: 123 }),
};

describe('the report of a campaign', () => {
  it('has for each requirement how often it was tested and broken, its least margin, the cut and the bound, in 80 columns', () => {
    const lines = campaignText(recordOf(REQUIREMENTS), [], style(80)).split('\n');
    expect(Math.max(...lines.map((line) => line.length))).toBeLessThanOrEqual(80);
    expect(lines.find((line) => line.startsWith('floor'))).toMatch(/^floor +1000 +0 +0.458 mm +123 +< 0.3 %$/);
  });

  it('counts the cuts that stopped, by who stopped them and why', () => {
    const text = campaignText(recordOf(REQUIREMENTS), [], style(80));
    expect(flat(text)).toContain('997 cuts finished, 3 stopped: by the box no-arc 1; by the operator key 2.');
  });

  it('keeps the table in 60 columns, and says the bound for all of them', () => {
    const text = campaignText(recordOf(REQUIREMENTS), [], style(60));
    expect(text).toMatch(/^floor +1000 +0 +0.458 mm +123$/m);
    expect(flat(text)).toContain('fewer than 3/n of such cuts, with 95 % confidence: for n = 1000 below 0.3 %');
  });

  it('names the least distance and what was found last, and requirements that say never after those with a distance', () => {
    const text = campaignText(recordOf(REQUIREMENTS), ['Go on: standoff'], style(80));
    expect(text.indexOf('\nfloor')).toBeLessThan(text.indexOf('\nhand-back'));
    const last = flat(text.slice(text.indexOf('Found:')));
    expect(last).toContain(
      'in 1000 cuts no requirement was broken. Nearest to a bound of Z: floor, 0.458 mm left, in cut 123.',
    );
    expect(text.trimEnd()).toMatch(/Go on: standoff$/);
  });

  it('has a broken requirement first, and how many cuts of the campaign were tried', () => {
    const requirements = { ...REQUIREMENTS, 'z-dive': requirement({ broken: 3, first_broken: 9, worst_margin: -2 }) };
    const text = campaignText(recordOf(requirements, 600), [], style(80));
    expect(flat(text)).toContain('Found: 1 REQUIREMENT BROKEN in 600 of 1000 cuts: z-dive.');
    expect(text.indexOf('\nz-dive')).toBeLessThan(text.indexOf('\ndescent-only-in-follow'));
    // Where a requirement was broken the rule of three bounds nothing.
    expect(text).toMatch(/^z-dive +1000 +3 ! +-2 mm +17$/m);
  });
});

describe('the quality of the cuts', () => {
  const record = recordOf(REQUIREMENTS);
  const { goals, figures } = record.tally.quality;
  figures.standoff_error_mean_mm = { cuts: 100, bins: { 1: 60, 4: 35, 97: 5 }, worst_mm: -0.973, worst_case: 12 };
  const goal = { statement: 'what it says', unit: 'mm', tested: 800 };
  goals['least-standoff'] = { ...goal, missed: 3, worst_margin: -0.12, worst_case: 44 };
  goals['corner-dive'] = { ...goal, missed: 0, worst_margin: 0.1, worst_case: 5 };

  it('stands beside the requirements: how the error is spread, and which goals were missed in how many cuts', () => {
    const text = campaignText(record, [], style(80));
    expect(text).toMatch(/^mean of a cut, - is too low +100 +0.02 +0.05 +-0.97 +12$/m);
    expect(text).toMatch(/^least-standoff +800 +3 +-0.12 mm +44$/m);
    expect(text).not.toMatch(/^corner-dive/m);
    expect(flat(text)).toContain('1 other quality goal was missed in no cut.');
    // It decides nothing.
    expect(flat(text)).toContain('in 1000 cuts no requirement was broken');
  });

  it('fits a narrow window', () => {
    const lines = campaignText(record, [], style(44)).split('\n');
    expect(Math.max(...lines.map((line) => line.length))).toBeLessThanOrEqual(44);
    expect(flat(lines.join('\n'))).toContain('worst -0.97 mm in cut 12');
  });
});

describe('what to type after a campaign', () => {
  const args = ['fuzz', "it's.nc", '--workers', '2', '--runs', '9'];

  it('is the same campaign with a folder for the cases, whatever the number of threads', () => {
    expect(nextSteps(args, {}, false, false)).toEqual([
      'The cuts that came nearest: standoff fuzz "it\'s.nc" --runs 9 --cases found',
    ]);
    expect(nextSteps(args, {}, false, true)[0]).toContain('The simplest cut that breaks each requirement: ');
    expect(nextSteps(args, { cases: 'found' }, false, true)).toEqual([]);
  });

  it('goes on with the result, where one was kept', () => {
    expect(nextSteps(args, { out: 'a.json' }, true, false)).toEqual(['To resume: standoff fuzz --out a.json --resume']);
    expect(nextSteps(args, {}, true, false)[0]).toContain('--out FILE');
  });
});

describe('words for a shell', () => {
  it('are quoted where they need it', () => {
    expect(shellWords(['a=1', 'my sheet.nc', '$x'])).toBe(`a=1 "my sheet.nc" '$x'`);
  });

  it('leave options out in both ways of writing them', () => {
    expect(withoutOptions(['map', '--out', 'a', '--out=b', '--force'], ['--out'])).toEqual(['map', '--force']);
  });
});

describe('the line that tells how far a campaign has come', () => {
  function shownWith(columns: number) {
    let now_ms = 5000;
    let shown = '';
    const put = (text: string) => {
      shown = text;
    };
    const stream = { isTTY: true, columns, write: (text: string) => void put(text) };
    const line = new CampaignProgress(stream as never, [0, 1000], true, () => now_ms);
    const show = (at_ms: number, done: number) => {
      now_ms = at_ms;
      line.show(recordOf(REQUIREMENTS, done));
      // biome-ignore lint/suspicious/noControlCharactersInRegex: escape sequences begin with one
      return shown.replace(/^\r|\x1b\[K$/g, '');
    };
    return { line, show, last: () => shown };
  }

  it('counts the rate and the time left from the first report, not from the start of the threads', () => {
    const { show } = shownWith(80);
    show(9000, 100);
    expect(show(11000, 300)).toBe('300 of 1000 cuts  100/s  0:07 left  none broken  floor 0.46 mm');
  });

  it('has all of it in 60 columns, for a person who looks for the least margin so far', () => {
    const { show } = shownWith(60);
    show(0, 0);
    expect(show(2000, 300)).toMatch(/^300 of 1000 cuts {2}150\/s {2}0:04 left {2}none broken {2}floor/);
    expect(show(4000, 600).length).toBeLessThanOrEqual(59);
  });
});

describe('a map', () => {
  const cell = { ...UNTRIED, cuts: 10, kept: 10, goals_met: 5, following_p999_mm: 0.1 };
  const poor = { ...cell, goals_met: 1, following_p999_mm: 0.3 };
  const broken = { ...cell, kept: 9, worst_margin: -0.2, worst_requirement: 'floor', worst_unit: 'mm', worst_case: 4 };
  const axis = (name: string, ...values: number[]) => {
    return { name, unit: '1/s', values, present: 20, least: 0, most: 100, logarithmic: true };
  };
  const map: GainMap = {
    x: axis('gain_p_per_s', 5, 10, 20, 40),
    y: axis('gain_i_per_s2', 10, 20, 40),
    cells: [
      [cell, cell, poor, UNTRIED],
      [cell, cell, cell, broken],
      [cell, cell, cell, broken],
    ],
    programs: ['gate.nc'],
    present: poor,
  };
  const request = {
    program: 'gate.nc',
    block_delete: false,
    setup: 'mara.yaml',
    set: ['pierce_ms=400'],
    range: ['wave_mm=0:1'],
    cuts: 10,
    args: ['map', 'gate.nc'],
    stored: undefined,
  };
  const centre = centreOf(map)!;

  it('shows region, middle, present place, broken and refused pairs without any colour', () => {
    const text = mapText(map, centre, request, style(60));
    const rows = text.split('\n').slice(1, 4);
    expect(rows).toEqual(['40  5+ 5+ 5+ x ', '20  5+[5](5) x ', '10  5+ 5+ 1  - ']);
    expect(text).not.toContain('\u001b');
    expect(Math.max(...text.split('\n').map((line) => line.length))).toBeLessThanOrEqual(60);
  });

  it('says how the present values do, how far each edge is, and how to make the map wider', () => {
    const text = flat(mapText(map, centre, request, style(60)));
    expect(text).toContain(
      'In the box now ( ): gain_p_per_s 20 1/s, gain_i_per_s2 20 1/s: every requirement kept in 10 of 10',
    );
    expect(text).toContain('quality goals for following met in 1, outside the region.');
    expect(text).toContain('gain_p_per_s down 5 (there the map ends), up 10;');
    expect(text).toContain('Cut, in turn: gate.nc.');
    const same = 'gate.nc --setup mara.yaml --set pierce_ms=400';
    expect(text).toContain(
      `standoff map ${same} --range wave_mm=0:1 --x gain_p_per_s=1.67:40 --y gain_i_per_s2=3.33:100`,
    );
    expect(text).toContain(`standoff simulate ${same} --set gain_p_per_s=10 --set gain_i_per_s2=20`);
    expect(text).toContain('Least margin of all: floor, -0.2 mm, in cut 4.');
    expect(text).toContain('Into a setup file: standoff map gate.nc --store better.yaml');
    const switched = flat(mapText(map, centre, { ...request, block_delete: true, stored: 'a.yaml' }, style(60)));
    expect(switched).toContain('standoff simulate gate.nc --block-delete --setup mara.yaml --set pierce_ms=400');
    expect(switched).toContain('standoff fuzz gate.nc --block-delete --setup a.yaml');
  });

  it('says why there is no region or no middle, and what to type then', () => {
    const said = (one: typeof cell, args: string[] = []) => {
      const cells = map.cells.map((row) => row.map((_, column) => (column > 1 ? broken : one)));
      const other = { ...map, cells };
      expect(centreOf(other)).toBeUndefined();
      return flat(mapText(other, undefined, { ...request, args }, style(60)));
    };
    const missed = said({ ...cell, goals_met: 4 }, ['map', '--store', 'a.yaml']);
    expect(missed).toContain('There is no region: no pair keeps every requirement');
    expect(missed).toContain('At most 4 of the cuts of a pair met them.');
    expect(missed).toContain('No setup was written: there is no middle.');
    expect(missed).toContain('standoff tune gate.nc --setup mara.yaml');
    const edge = { ...map, cells: map.cells.map((row) => row.map((_, column) => (column > 0 ? poor : cell))) };
    const text = flat(mapText(edge, centreOf(edge), request, style(60)));
    expect(text).toContain('3 pairs of values keep requirements and goals, but only at an edge of the map');
    expect(text).toContain('A wider map: standoff map');
    expect(said(broken)).toContain('no pair for which every requirement was kept');
  });

  it('draws bare digits where three characters a cell are too wide, and says so where even they are', () => {
    const values = Array.from({ length: 30 }, (_, at) => at + 1);
    const wide = {
      ...map,
      x: { ...map.x, values, present: 60 },
      cells: map.y.values.map(() => values.map(() => cell)),
    };
    expect(mapText(wide, undefined, request, style(60))).toContain(`\n40 ${'5'.repeat(30)}\n`);
    expect(flat(mapText(wide, undefined, request, style(30)))).toContain('wider than these 30 columns');
  });

  it('is a drawing that reads without colour: hatching, frames, rings and a legend', () => {
    const svg = mapSvg(map, centre);
    expect(svg.match(/fill="url\(#broken\)"/g)).toHaveLength(2);
    expect(svg.match(/stroke="#111" stroke-width="2.5"><title>/g)).toHaveLength(8);
    expect(svg).toContain('>in the box now</text>');
    expect(svg).not.toContain('NaN');
    const [width, height] = /viewBox="0 0 (\d+) (\d+)"/.exec(svg)!.slice(1).map(Number);
    for (const [, x, y, words] of svg.matchAll(/<text x="(\d+)" y="(\d+)">([^<]*)</g)) {
      expect(Number(x) + 7 * words.length, words).toBeLessThanOrEqual(width);
      expect(Number(y), words).toBeLessThan(height);
    }
    // The ring of the present values lies on their cell, by its place among equal factors.
    const ring = /<circle cx="([\d.]+)" cy="([\d.]+)" r="16"[^>]*stroke-dasharray/.exec(svg)!;
    expect(ring.slice(1).map((at) => Math.round(Number(at)))).toEqual([190, 80]);
    expect(mapHtml(map, centre, request)).toContain('<p>In the box now: gain_p_per_s 20 1/s');
  });
});
