/** `standoff bring-up` as it ships: the record and its resumption, the typed word, and what is refused before anything is done. */
import { existsSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { loadControlModule } from '../../sim/run/controller/index.js';
import { Emulation } from '../emulator/emulation.js';
import { ended, folderWith, standoff, start } from './command.js';

const folder = folderWith({ 'text.json': 'hello' });
const words = (text: string) => text.replace(/\s+/g, ' ');
const read = (name: string) => JSON.parse(readFileSync(join(folder, name), 'utf8'));

describe('standoff bring-up --emulated', () => {
  it('keeps a dated record, says what it is worth, writes over none, and goes on where it was', async () => {
    const args = ['bring-up', '--emulated', '--only', 'identity'];
    const first = await standoff(folder, ...args);
    expect([first.status, first.stderr]).toEqual([0, '']);
    const file = `bring-up-${new Date().toISOString().slice(0, 10)}-emulated.json`;
    expect(words(first.stdout)).toContain('this shows nothing of silicon');
    const record = read(file);
    expect(record).toMatchObject({
      format: 'standoff bring-up 1',
      on: 'emulated',
      steps: { identity: { verdict: 'passed', figures: { module_sha256: loadControlModule().sha256 } } },
    });

    const again = await standoff(folder, ...args);
    expect([again.status, again.stderr]).toEqual([2, expect.stringContaining(`${file} exists`)]);
    expect(read(file)).toEqual(record);

    const resumed = await standoff(folder, 'bring-up', '--emulated', '--resume', '--only', 'identity');
    expect(words(resumed.stdout)).toContain('1 steps have passed already');
    expect(read(file)).toEqual(record);

    const more = await standoff(folder, 'bring-up', '--emulated', '--resume', '--only', 'clocks', '--count', '1');
    expect(more.status).toBe(0);
    expect(Object.keys(read(file).steps)).toEqual(['identity', 'clocks']);
    expect(read(file).steps.clocks).toMatchObject({ count: 1, unit: 's' });
    expect(read(file).steps.identity).toEqual(record.steps.identity);
  });

  it('does not go on with what is no record, nor with one of another board', async () => {
    const args = (file: string) => ['bring-up', '--emulated', '--resume', '--record', file, '--only', 'identity'];
    expect((await standoff(folder, ...args('text.json'))).stderr).toContain('is no record of a bring-up');
    await standoff(folder, 'bring-up', '--emulated', '--record', 'other.json', '--only', 'identity');
    const other = { ...read('other.json'), board: 'SNDF-0000' };
    writeFileSync(join(folder, 'other.json'), JSON.stringify(other));
    const { status, stderr } = await standoff(folder, ...args('other.json'));
    expect([status, stderr]).toEqual([2, expect.stringContaining('other.json has board SNDF-0000')]);
    expect(read('other.json')).toEqual(other);
  });

  it('breaks off with Ctrl-C, and keeps what was done', async () => {
    const child = start(folder, ['bring-up', '--emulated', '--record', 'broken.json']);
    const end = ended(child);
    while (!existsSync(join(folder, 'broken.json'))) await new Promise((resolve) => setTimeout(resolve, 20));
    child.kill('SIGINT');
    expect((await end).status).toBe(130);
    expect(read('broken.json').steps.identity.verdict).toBe('passed');
  });
});

describe('standoff bring-up', () => {
  it.each([
    [['--only', 'tune'], /there is no step tune/],
    [['--count', '0'], /--count is no whole number/],
    [['--record', 'notes.txt'], /notes\.txt/],
    [[], /no port was named/],
  ])('refuses %j before anything is done', async (args, message) => {
    const { status, stderr } = await standoff(folder, 'bring-up', ...args);
    expect([status, words(stderr)]).toEqual([2, expect.stringMatching(message)]);
  });

  it('asks for a typed word before hands touch a board, and ends with any other; what needs no hands does not ask', async () => {
    const box = await Emulation.start(folder, '--bare');
    const args = ['bring-up', '--port', box.address, '--record', 'typed.json', '--only'];
    const child = start(folder, [...args, 'inputs']);
    child.stdin?.end('yes\n');
    const refused = await ended(child);
    expect(refused.status).toBe(4);
    for (const word of [
      '24 V is absent',
      'Z would move',
      'trigger is never raised',
      'kill',
      'Local electrical code',
      'Type BARE',
    ])
      expect(words(refused.stdout)).toContain(word);
    expect(existsSync(join(folder, 'typed.json'))).toBe(false);

    const typed = start(folder, [...args, 'inputs']);
    typed.stdin?.end('BARE\ns\n');
    const left_out = await ended(typed);
    expect(words(left_out.stdout)).toContain('NOT TRIED');
    expect(read('typed.json').steps.inputs.verdict).toBe('not tried');

    const silent = start(folder, [...args, 'identity', '--resume']);
    silent.stdin?.end();
    expect((await ended(silent)).status).toBe(0);
    expect(read('typed.json').steps.identity.verdict).toBe('passed');
    await box.stop();
  });
});
