import { existsSync, readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { PIN_ROWS } from '../../firmware/ports/rp2040/board-rows.js';
import { FAULT_ROWS, HOLD_ROWS, MODE_ROWS, REFUSAL_ROWS, STAGE_ROWS } from '../../firmware/wire/code-rows.js';
import * as layout from '../../firmware/wire/layout.gen.js';
import { BOOT_ROWS, EVENT_ROWS } from '../../firmware/wire/link-rows.js';
import { PARAMETER_ROWS } from '../../firmware/wire/parameter-rows.js';
import { INPUT_ROWS, OUTPUT_ROWS } from '../../firmware/wire/tick-rows.js';
import { LIMIT_ROWS } from '../../sim/electrical/index.js';
import { BOOT_MARK } from '../../sim/run/begin/index.js';
import { COLUMN_ROWS } from '../../sim/run/trace/index.js';
import { MACHINE_ROWS, FAULT_ROWS as PLANT_FAULT_ROWS, WORLD_ROWS } from '../../sim/world/plant/index.js';
import { ROOT } from '../architecture/files.js';
import { cautionErrors, type Known, lengthErrors, linkErrors, nameErrors, type Page, promiseErrors } from './pages.js';

const FOLDER = join(ROOT, 'hardware-notes');
const pages: Page[] = readdirSync(FOLDER)
  .filter((name) => name.endsWith('.md'))
  .map((name) => ({ name, text: readFileSync(join(FOLDER, name), 'utf8') }));
const pictures = readdirSync(FOLDER).filter((name) => name.endsWith('.svg'));

const COMMANDS = join(ROOT, 'sim/commands');
const commandSource = readdirSync(COMMANDS, { recursive: true, encoding: 'utf8' })
  .filter((name) => name.endsWith('.ts'))
  .map((name) => readFileSync(join(COMMANDS, name), 'utf8'))
  .join('\n');
const found = (pattern: RegExp) => [...commandSource.matchAll(pattern)].map(([, name]) => name);
const { scripts } = JSON.parse(readFileSync(join(ROOT, 'package.json'), 'utf8')) as { scripts: object };
const codes = [
  FAULT_ROWS,
  HOLD_ROWS,
  MODE_ROWS,
  STAGE_ROWS,
  REFUSAL_ROWS,
  EVENT_ROWS,
  BOOT_ROWS,
  PIN_ROWS,
  PARAMETER_ROWS,
];

const known: Known = {
  names: new Set([
    ...['box', 'machine', 'world', BOOT_MARK.split('.')[0]],
    ...codes.flatMap((rows) => rows.map(({ name }) => name)),
    ...PLANT_FAULT_ROWS.map(({ kind }) => kind),
    ...[...COLUMN_ROWS, ...INPUT_ROWS, ...OUTPUT_ROWS].map(({ name }) => name),
    'world.faults',
    ...[...MACHINE_ROWS, ...WORLD_ROWS].map(({ path }) => path),
    ...LIMIT_ROWS.map(({ name }) => name),
    ...Object.keys(layout),
    ...[...MACHINE_ROWS, ...WORLD_ROWS].map(({ path }) => path.split('.')[1]),
  ]),
  commands: new Set(found(/new Command\('([\w-]+)'\)/g)),
  options: new Set(['--help', ...found(/(--[a-z][\w-]*)/g)]),
  scripts: new Set(Object.keys(scripts)),
  isFile: (path) => existsSync(join(ROOT, path)),
};

const page = (text: string): Page => ({ name: 'made.md', text });

describe('the hardware notes', () => {
  it('were read: an index, pages, pictures', () => {
    expect(pages.length).toBeGreaterThan(14);
    expect(pictures.length).toBeGreaterThan(1);
    expect(known.commands.has('divider')).toBe(true);
  });

  it('link only to what exists', () => {
    expect(pages.flatMap((each) => linkErrors(each, (name) => existsSync(join(FOLDER, name))))).toEqual([]);
  });

  it('name no parameter, row, pin, fault, event, command, option or file that is not there', () => {
    // Words of a program and fields of the link are no names of this list; their pages are written from their rows.
    const own = ['program-words.gen.md', 'link.gen.md'];
    const named = pages.filter(({ name }) => !own.includes(name));
    expect(named.flatMap((each) => nameErrors(each, known))).toEqual([]);
  });

  it('say the cautions at the top of each page that speaks of high voltage, and in each picture', () => {
    expect(pages.flatMap(cautionErrors)).toEqual([]);
    for (const name of pictures) expect(readFileSync(join(FOLDER, name), 'utf8'), name).toMatch(/\bkill\b/);
  });

  it('promise nothing', () => expect(pages.flatMap(promiseErrors)).toEqual([]));

  it('can be read in a sitting', () => expect(pages.flatMap(lengthErrors)).toEqual([]));

  it('are all in the index, and every picture is on a page', () => {
    const index = pages.find(({ name }) => name === 'README.md')!.text;
    for (const { name } of pages) if (name !== 'README.md') expect(index).toContain(`(${name})`);
    for (const name of pictures)
      expect(
        pages.some(({ text }) => text.includes(`(${name})`)),
        name,
      ).toBe(true);
  });

  it('show every pin in the pin table and every pin in the table of single faults', () => {
    const table = (name: string) => pages.find((each) => each.name === name)!.text;
    for (const { name } of PIN_ROWS) {
      expect(table('pins.gen.md')).toContain(`| \`${name}\` |`);
      if (name !== 'ARC_VOLTAGE') expect(table('single-faults.md'), name).toContain(`\`${name}\``);
    }
  });
});

describe('these checks', () => {
  it('find a link to nothing, and let an address and a place on a page be', () => {
    const text = 'see [a](a.md), [b](b.md#part), [c](https://example.org)\n[d](d.svg)';
    expect(linkErrors(page(text), (name) => name === 'b.md')).toEqual([
      'made.md:1: no page a.md',
      'made.md:2: no page d.svg',
    ]);
  });

  it.each([
    ['a parameter', '`fall_ms`', '`fell_ms`'],
    ['a parameter without quotation', 'by fall_ms', 'by fell_ms'],
    ['a row', '`divider.rc_ms`', '`divider.rc_s`'],
    ['a pin', '`STOP_CHAIN`', '`STOP_CHAINS`'],
    ['a fault', '`voltage-at-rest`', '`voltage-at-work`'],
    ['a command', '`standoff divider --check`', '`standoff multiplier`'],
    ['an option', '`standoff divider --check`', '`standoff divider --fire`'],
    ['a script', '`npm run generate`', '`npm run degenerate`'],
    ['a file', '`firmware/box/port.h`', '`firmware/box/ports.h`'],
  ])('know %s from one that is not there', (_what, good, bad) => {
    expect(nameErrors(page(good), known)).toEqual([]);
    expect(nameErrors(page(bad), known)).toHaveLength(1);
  });

  it('find each missing caution, and cautions that come too late', () => {
    const { text } = pages.find(({ name }) => name === 'dead.md')!;
    expect(cautionErrors(page(text))).toEqual([]);
    expect(cautionErrors(page('# Wood\n\nGlue and screws.\n'))).toEqual([]);
    expect(cautionErrors(page(`# Title\n\nThe mains first.\n\n\n\n${text}`))).toEqual([
      'made.md: no cautions at its top',
    ]);
    for (const word of ['kill', 'dead', 'before and after', 'local electrical code', 'licensed', 'instruction']) {
      const without = text.replace(new RegExp(word.replaceAll(' ', '\\s+(?:> )?'), 'gi'), 'x');
      expect(cautionErrors(page(without)).length, word).toBeGreaterThan(0);
    }
  });

  it('find a promise', () => {
    expect(promiseErrors(page(`this is ${'sa'}${'fe'}`))).toHaveLength(1);
    expect(promiseErrors(page('a fuse that unsafely'))).toEqual([]);
  });

  it('find a page that is too long', () => {
    expect(lengthErrors(page('x\n'.repeat(251)))).toHaveLength(1);
    expect(lengthErrors(page('x\n'.repeat(250)))).toEqual([]);
  });
});
