import { readFileSync, statSync } from 'node:fs';
import { join } from 'node:path';
import { setTimeout as wait } from 'node:timers/promises';
import { gunzipSync } from 'node:zlib';
import { describe, expect, it } from 'vitest';
import { type Summary, summarySchema } from '../../sim/run/job/index.js';
import { readCsv, TraceHash } from '../../sim/run/trace/index.js';
import { ended, folderWith, LONG_CUT, SHORT_CUT, standoff, start } from './command.js';

const folder = folderWith({
  'cut.nc': SHORT_CUT,
  'long.nc': LONG_CUT,
  'no-arc.yaml': 'world:\n  faults:\n  - {kind: arc-never-starts, at_s: 0}\n',
  // The short cut is followed from 5.8 s to 7.0 s.
  'open-lead.yaml': 'world:\n  faults:\n  - {kind: open-lead, at_s: 6.2}\n',
  'offcut.yaml': 'world:\n  sheet: {offcut_height_mm: 40, offcut_size_mm: 30, offcut_x_mm: 70, offcut_y_mm: 35}\n',
});

/** Without advice, whose trials depend on how fast the machine is. */
const summaryOf = (...args: readonly string[]) => advisedSummaryOf('--no-advice', ...args);

async function advisedSummaryOf(...args: readonly string[]): Promise<Summary & { readonly status: number | null }> {
  const { status, stdout, stderr } = await standoff(folder, 'simulate', '--json', ...args);
  expect(stderr).toBe('');
  return { ...summarySchema.parse(JSON.parse(stdout)), status };
}

describe('standoff simulate --json', () => {
  it('prints the summary of the example and nothing else', async () => {
    const summary = await summaryOf();
    expect(summary.program).toBe('hinge-plates.nc');
    expect(summary.outcome.ended).toBe('finished');
    expect(summary.contours).toHaveLength(10);
    expect(summary.figures.standoff_error_rms_mm).toBeGreaterThan(0);
    expect(summary.figures.crossings).toBeGreaterThan(0);
    expect(summary.figures.corners).toBeGreaterThan(0);
    expect(summary.warnings).toEqual([]);
  });

  it('ends with 0 when it finished and broke nothing, and counts apart what was never put to the test', async () => {
    const { status, verdict, requirements } = await summaryOf('cut.nc');
    expect(requirements.every((requirement) => requirement.kept)).toBe(true);
    expect(verdict).toMatchObject({ word: 'finished', stop: null, broken: [], contacts: 0 });
    const idle = requirements.filter(({ checked }) => checked === 0).map(({ name }) => name);
    expect(idle.length).toBeGreaterThan(0);
    expect(verdict.untested).toEqual(idle);
    expect(status).toBe(0);
  });

  it('ends with 1 when the torch meets the sheet, though the cut did not finish either', async () => {
    // An offcut 40 mm high over 30 mm of path asks for 67 mm/s of Z at 50 mm/s of feed; Z has 40 mm/s.
    const { status, verdict, outcome, figures, requirements, advice } = await advisedSummaryOf(
      'cut.nc',
      '--setup',
      'offcut.yaml',
    );
    expect(outcome.ended).toBe('stopped');
    expect(figures.contacts).toBeGreaterThan(0);
    expect(requirements.filter((requirement) => !requirement.kept).map(({ name }) => name)).toContain('no-contact');
    expect(verdict).toMatchObject({ word: 'broken', stop: { by: 'box' }, contacts: figures.contacts });
    expect(verdict.broken).toContain('no-contact');
    expect(status).toBe(1);
    expect(advice[0]).toMatchObject({ cause: 'offcut' });
    expect((await summaryOf('cut.nc', '--setup', 'offcut.yaml')).advice).toEqual([]);
  });

  it('gives one result for one seed and another for another', async () => {
    const [one, again, other] = await Promise.all([
      summaryOf('cut.nc', '--seed', '7'),
      summaryOf('cut.nc', '--seed', '7'),
      summaryOf('cut.nc', '--seed', '8'),
    ]);
    expect(one.seed).toBe(7);
    expect(again).toEqual(one);
    expect(other.trace_hash).not.toBe(one.trace_hash);
  });

  it('runs with what --set and --setup change', async () => {
    const [plain, box, world] = await Promise.all([
      summaryOf('cut.nc'),
      summaryOf('cut.nc', '--set', 'pierce_ms=900'),
      summaryOf('cut.nc', '--set', 'world.sheet.wave_mm=0'),
    ]);
    // The longer pierce burns 400 ms more; the rest of the cut may shift by a few ticks with the noise.
    expect(box.figures.arc_on_s - plain.figures.arc_on_s).toBeCloseTo(0.4, 1);
    expect(world.trace_hash).not.toBe(plain.trace_hash);
  });

  it('tells where box and machine differ, and runs', async () => {
    const { warnings, outcome } = await summaryOf('cut.nc', '--set', 'reading_gain_mV=90');
    expect(warnings).toHaveLength(1);
    expect(warnings[0]).toContain('reading_gain_mV');
    expect(outcome.simulated_s).toBeGreaterThan(0);
  });

  it('stops without an arc when the arc never starts, and says what to look at', async () => {
    const { status, verdict, outcome, faults, figures } = await summaryOf('cut.nc', '--setup', 'no-arc.yaml');
    expect([status, verdict.word]).toEqual([4, 'stopped']);
    expect(verdict.stop).toMatchObject({ by: 'box', cause: 'no-arc', contour: 0 });
    expect(outcome).toMatchObject({ ended: 'stopped', line: 4 });
    expect(faults.map(({ name }) => name)).toEqual(['no-arc']);
    expect(faults[0].remedy).toContain('work clamp');
    expect(figures.arc_on_s).toBe(0);
  });

  it('ends the cut when a lead opens in it, and says what to look at', async () => {
    const { status, verdict, outcome, faults, figures } = await summaryOf('cut.nc', '--setup', 'open-lead.yaml');
    expect([status, verdict.word]).toEqual([4, 'stopped']);
    expect(verdict.stop).toMatchObject({ by: 'box', cause: 'no-voltage', contour: 0, line: 4 });
    expect(verdict.stop!.at_s).toBeCloseTo(6.2, 1);
    expect(outcome.ended).toBe('stopped');
    expect(outcome.line).toBe(4);
    expect(faults.map(({ name }) => name)).toEqual(['no-voltage']);
    expect(figures.following_s).toBeGreaterThan(0);
    expect(figures.contacts).toBe(0);
  });
});

/** Run before the program: its pipes then pass for a terminal, on which the live view draws and hears keys. */
const TERMINAL =
  "data:text/javascript,for (const name of ['stdin', 'stdout']) process[name].isTTY = true;" +
  'Object.assign(process.stdout, { columns: 80, rows: 24 }); process.stdin.setRawMode = () => {};';

describe('q in the live view', () => {
  it('ends the run before its end: status 4, and the summary so far', async () => {
    const child = start(folder, ['simulate', 'long.nc'], { NODE_OPTIONS: `--import "${TERMINAL}"` });
    const end = ended(child);
    child.stdout?.once('data', () => child.stdin?.write('q'));
    const { status, stdout, stderr } = await end;
    expect(stderr).toBe('');
    expect(stdout.replace(/\s+/g, ' ')).toMatch(/STOPPED by you .* ended with q/);
    expect(status).toBe(4);
  });
});

describe('a trace', () => {
  it.each(['trace.csv', 'trace.csv.gz'])('%s holds every tick, and hashes as the run does', async (name) => {
    const { outcome, trace_hash } = await summaryOf('cut.nc', '--trace', name);
    const hash = new TraceHash();
    let ticks = 0;
    for await (const block of readCsv(join(folder, name))) {
      hash.block(block);
      ticks += block.count;
    }
    expect(ticks / 1000).toBe(outcome.simulated_s);
    expect(hash.hex()).toBe(trace_hash);
  });

  it('is written over with --force only', async () => {
    await summaryOf('cut.nc', '--trace', 'twice.csv');
    const size = statSync(join(folder, 'twice.csv')).size;
    const longer = await summaryOf('cut.nc', '--trace', 'twice.csv', '--force', '--set', 'pierce_ms=2000');
    expect(longer.outcome.ended).toBe('finished');
    expect(statSync(join(folder, 'twice.csv')).size).toBeGreaterThan(size);
  });

  it('is complete up to Ctrl-C, which prints the summary so far and ends with 130', async () => {
    const child = start(folder, ['simulate', 'long.nc', '--json', '--trace', 'cut-short.csv.gz']);
    const end = ended(child);
    const file = join(folder, 'cut-short.csv.gz');
    const size = () => statSync(file, { throwIfNoEntry: false })?.size ?? 0;
    // Some seconds of the run are in the file by then; the whole run is half an hour.
    while (size() < 100_000 && child.exitCode === null) await wait(5);
    child.kill('SIGINT');
    const { status, stdout, stderr } = await end;
    expect(stderr).toBe('');
    expect(status).toBe(130);
    const summary = summarySchema.parse(JSON.parse(stdout));
    expect(summary.outcome).toMatchObject({ ended: 'interrupted', reason: 'broken off by Ctrl-C' });
    const rows = gunzipSync(readFileSync(file)).toString().trimEnd().split('\n');
    const [first] = rows.filter((row) => /^\d/.test(row));
    const last = rows.at(-1);
    expect(last.split(',')).toHaveLength(first.split(',').length);
    expect((Number(last.split(',')[0]) + 1) / 1000).toBe(summary.outcome.simulated_s);
  });
});

describe('a stored run', () => {
  it('repeats the run to the tick', async () => {
    const made = await summaryOf('cut.nc', '--seed', '5', '--set', 'pierce_ms=300', '--store', 'run.yaml');
    expect(await summaryOf('--scenario', 'run.yaml')).toEqual(made);
  });

  it('is changed by --set and --seed as a setup is', async () => {
    await summaryOf('cut.nc', '--store', 'base.yaml');
    const [changed, direct] = await Promise.all([
      summaryOf('--scenario', 'base.yaml', '--seed', '9', '--set', 'pierce_ms=300'),
      summaryOf('cut.nc', '--seed', '9', '--set', 'pierce_ms=300'),
    ]);
    expect(changed).toEqual(direct);
  });

  it('plays what the operator does', async () => {
    const { stdout } = await standoff(folder, 'simulate', 'cut.nc', '--json', '--store', 'hand.yaml');
    const before = summarySchema.parse(JSON.parse(stdout));
    const text = readFileSync(join(folder, 'hand.yaml'), 'utf8');
    const events = 'operator:\n- {at_s: 0.2, line: key, on: true}\n- {at_s: 6 s, line: key, on: false}\n';
    const child = folderWith({ 'hand.yaml': text + events });
    const after = await standoff(child, 'simulate', '--json', '--scenario', 'hand.yaml');
    const summary = summarySchema.parse(JSON.parse(after.stdout));
    expect(before.outcome.ended).toBe('finished');
    expect(summary.outcome.ended).toBe('stopped');
    expect([after.status, summary.verdict.stop?.by, summary.verdict.stop?.cause]).toEqual([4, 'operator', 'key']);
    expect(summary.figures.arc_on_s).toBeLessThan(before.figures.arc_on_s);
  });
});
