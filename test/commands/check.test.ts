import { closeSync, existsSync, openSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { thereOrDemanded } from '../support/demanded.js';
import { ended, folderWith, SHORT_CUT, standoff, start } from './command.js';

const HOLE = 'G21 G90\nG0 X50 Y50\nM3\nG1 X50.5 F900\nG3 I-0.5\nM5\nG0 X1 Y90\nM3\nG1 X60 F3000\nM5\nM2\n';
const PARTS = [
  'G21 G90 F3000',
  ...[20, 120, 220].map((x) => `G0 X${x} Y50\nM3\nG1 X${x + 60}\nY90\nX${x}\nY50\nM5`),
  'G0 X10 Y70\nM2',
].join('\n');
const folder = folderWith({
  'cut.nc': SHORT_CUT,
  'hole.nc': HOLE,
  'parts.nc': PARTS,
  // Blanks, a number for the switch, each end of a line; a / in a comment or in the middle marks nothing.
  'switch.nc': 'G21 G90 (1/2 in)\r\n/ G0 X300 Y50\rM3\n/2 G1 X90 F600\n  /G41\nG1 X60 F3000 ; a/b\nM5\nM2\n/G93\n',
  'middle.nc': 'G21 G90\nG0 X50 Y50\nM3\nG1 X60 F3000 / Y1\nM5\nM2\n',
  'far.nc': 'G21 G90 G55\nG0 X10 Y10\nM3\nG1 X60 F3000\nM5\nM2\n',
  'idle.nc': 'G21 G90\nG0 X10 Y10\nM2\n',
  'torch.nc': 'G21 G90\nG0 X10 Y10\nM3\nM5\nM2\n',
  'refused.nc': 'G21 G90\nG41 D1\nG0 X10 Y10\nG93\nM3\nG1 X[3] F3000\nM5\nM2\n',
  'warned.nc': 'G21 G90\nG0 X50 Y50\nM3\nG1 X110 F3000\nG0 X150\nG1 X160\nM2\n',
  'wait.nc': 'G21 G90\nG0 X50 Y50\nM3\nG4 P20\nG1 X110 F3000\nM5\nM2\n',
  'offset.yaml': 'machine:\n  origins: { G55_x_mm: 300 mm, G55_y_mm: 200 }\n',
  'three.yaml':
    'box: { arc_high_V: 130, slope_limit: 0.02, strike_ms: 100 }\nmachine: { supply: { no_load_V: 420 } }\n',
});
const check = (...args: string[]) => standoff(folder, 'check', ...args);

describe('standoff check', () => {
  it('says what it understood, and that nothing was simulated', async () => {
    const { status, stdout: page, stderr } = await check('parts.nc');
    const stdout = page.replaceAll(/\n +/g, ' ');
    expect(stderr).toBe('');
    expect(stdout).toMatch(/contours +3, each with a touch-off and a pierce, on 24 lines/);
    expect(stdout).toMatch(/cut +0\.60 m of path; 0\.46 m of rapids/);
    expect(stdout).toMatch(/feed +3000 mm\/min/);
    expect(stdout).toMatch(/place +X20\.0 Y50\.0 to X280\.0 Y90\.0 on a sheet of 600 × 400 mm/);
    expect(stdout).toMatch(/smallest loop +40\.00 mm across its path, line 4: 26\.7 kerf widths of 1\.5 mm/);
    expect(stdout).toMatch(/rapids +1 over what was cut out before, the first in line 23 over the contour of line 11/);
    expect(stdout).toMatch(/edge starts +none/);
    expect(stdout).toContain('Nothing was found against it. Nothing was simulated');
    expect(status).toBe(0);
  });

  it.each([
    ['the example', [], 0, 'hinge-plates.nc'],
    [
      'a hole below its kerf',
      ['hole.nc'],
      1,
      'hole.nc:5: the path closes on itself 1.00 mm across, and the kerf is 1.5 mm',
    ],
    ['a start at the edge', ['hole.nc'], 1, '1 within 2 mm of the edge'],
    [
      'bumps that are steeper than the box believes',
      ['cut.nc', '--set', 'world.sheet.bump_mm=2'],
      1,
      'the steepest place of the sheet is 0.185 mm/mm (world.sheet: tilt, waves, bow and bumps), and the box believes at most 0.12',
    ],
    ['places by the setup', ['far.nc', '--setup', 'offset.yaml'], 0, 'X310.0 Y210.0 to X360.0 Y210.0'],
    ['a rapid with the torch on', ['warned.nc'], 1, 'warned.nc:5:1: "G0" moves at rapid speed while the torch is on'],
    ['M5 missing at the end', ['warned.nc'], 1, 'warned.nc:7:1: "M2" comes while the torch is still on'],
    [
      'a wait with the torch on',
      ['wait.nc'],
      1,
      'waits for 20 s with the torch on, and an arc that stands is put out after 5 s',
    ],
  ])('tells of %s', async (_, args, expected, text) => {
    const { status, stdout } = await check(...args);
    expect(stdout.replaceAll(/\s+/g, ' ')).toContain(text);
    expect(status).toBe(expected);
  });

  it('names all contradictions of a setup at once, each with its two numbers', async () => {
    const { status, stdout } = await check('cut.nc', '--setup', 'three.yaml', '--json');
    const { contradictions } = JSON.parse(stdout) as { contradictions: string[] };
    expect(status).toBe(1);
    for (const [first, second] of [
      ['420 V', '384 V'],
      ['132 V', '130 V'],
      ['0.083 mm/mm', '0.02 mm/mm'],
      ['185 ms', '100 ms'],
    ]) {
      expect(
        contradictions.filter((text) => text.includes(first) && text.includes(second)),
        first,
      ).toHaveLength(1);
    }
  });

  it('reads a program as with the switch for its / lines on, and as without it, and says which', async () => {
    const on = await check('switch.nc', '--block-delete', '--json');
    expect(on.stderr).toBe('standoff: block delete is on: 4 lines begin with / and are left out\n');
    const { understood, notes } = JSON.parse(on.stdout);
    expect(understood).toMatchObject({ lines: 9, contours: 1, cut_length_mm: 60, slowest_mm_s: 50 });
    expect(notes).toEqual([]);
    // Off, they are executed: one of them is not understood.
    const off = await check('switch.nc');
    expect([off.status, off.stderr]).toEqual([2, expect.stringContaining('switch.nc:5:4: "G41"')]);
    expect((await check('cut.nc', '--block-delete')).stderr).toContain('on: no line begins with /\n');
    expect((await check('middle.nc', '--block-delete')).stderr).toContain('put the block delete character first');
  });

  it.each([
    ['idle.nc', ['idle.nc: the program cuts nothing', 'M3']],
    ['torch.nc', ['torch.nc: the program cuts nothing', 'nothing moves at feed']],
    ['refused.nc', ['refused.nc:2:1: "G41"', 'refused.nc:4:1: "G93"', 'refused.nc:6:5: "["', 'these are all']],
  ])('refuses %s with status 2', async (file, words) => {
    const { status, stdout, stderr } = await check(file);
    expect(status).toBe(2);
    expect(stdout).toBe('');
    for (const word of words) expect(stderr).toContain(word);
  });

  it('reads standard input, and leaves nothing in a narrow window that is cut off', async () => {
    const child = start(folder, ['check', '-', '--plain'], { COLUMNS: '40' });
    child.stdin?.end(SHORT_CUT);
    const { status, stdout } = await ended(child);
    expect(status).toBe(0);
    expect(stdout).toContain('What was understood of standard-input');
    expect(stdout).toMatch(/^[\x20-\x7e\n]*$/);
    expect(Math.max(...stdout.split('\n').map((line) => line.length))).toBeLessThanOrEqual(40);
    expect(stdout.trimEnd()).toMatch(/box\.$/);
  });
});

describe('a path that closes on itself', () => {
  it.each(['10.01', '17.03', '21.47', '31.09'])('is found at X%s, by sums of numbers of two decimals', async (at) => {
    const moves = 'X0.61\nY0.33\nX-0.17 Y-0.06\nX-0.44 Y-0.27';
    const child = start(folder, ['check', '-']);
    child.stdin?.end(`G21 G90\nG0 X${at} Y${at}\nG91 F900\nM3\nG1 ${moves}\nM5\nM2\n`);
    const { status, stdout } = await ended(child);
    expect(stdout).toContain('the path closes on itself 0.33 mm across');
    expect(status).toBe(1);
  });
});

describe('a device in place of a program', () => {
  it.runIf(thereOrDemanded(existsSync('/dev/zero')))('is refused: it has no end', async () => {
    const { status, stderr } = await standoff(folder, 'check', '/dev/zero');
    expect([status, stderr]).toEqual([2, 'standoff: the program /dev/zero is a device, no file\n  name a file\n']);
  });
});

describe('a full disk', () => {
  it.runIf(thereOrDemanded(existsSync('/dev/full')))('is told in a sentence', async () => {
    const full = openSync('/dev/full', 'w');
    const child = start(folder, ['check', 'cut.nc'], {}, full);
    const { status, stderr } = await ended(child);
    closeSync(full);
    expect(status).toBe(2);
    expect(stderr).toBe('standoff: the output cannot be written (ENOSPC)\n  make room, or send it somewhere else\n');
  });
});

describe('standoff simulate', () => {
  it('reads standard input, and warns before it cuts', async () => {
    const child = start(folder, ['simulate', '-', '--json']);
    child.stdin?.end('G21 G90\nG0 X50 Y50\nM3\nG1 X110 F3000\nG0 X112\nM5\nG4 P0.8\nM2\n');
    const { stdout, stderr } = await ended(child);
    expect(stderr).toMatch(/^warning: standard-input:5:1: "G0" moves at rapid speed while the torch is on/);
    const { program, warnings } = JSON.parse(stdout) as { program: string; warnings: string[] };
    expect(program).toBe('standard-input');
    expect(warnings[0]).toContain('"G0" moves at rapid speed');
  });
});

describe('standoff', () => {
  it.each([
    ['nothing', []],
    ['a wrong command', ['simulat']],
  ])('says what to type next after %s', async (_, args) => {
    const { status, stderr } = await standoff(folder, ...args);
    expect(status).toBe(2);
    expect(stderr).toMatch(/Type next:\n {2}standoff simulate/);
  });

  it('says what to do with a file in place of a command', async () => {
    const { status, stderr } = await standoff(folder, 'cut.nc');
    expect(status).toBe(2);
    expect(stderr).toBe(
      'standoff: cut.nc is a file, no command\n  type: standoff check cut.nc, or standoff simulate cut.nc\n',
    );
  });
});
