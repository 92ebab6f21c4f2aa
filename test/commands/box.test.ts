import { existsSync, readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { EVENT_ROWS } from '../../firmware/wire/link-rows.js';
import { PARAMETER_ROWS } from '../../firmware/wire/parameter-rows.js';
import { readSetup } from '../../sim/run/setup/index.js';
import type { FakeBox } from '../link/fake-box.js';
import { delivered, OLD } from '../link/flashing.js';
import { folderWith, standoff } from './command.js';
import { FakePort } from './fake-port.js';

const MINE = '# my table\nbox:\n  cut_height_mm: 1.8 mm   # as tried\nmachine:\n  table: { sheet_thickness_mm: 4 }\n';
const folder = folderWith({
  'mine.yaml': MINE,
  'bad.yaml': 'box:\n  cut_hight_mm: 2\n',
  'cut.txt': 'x',
});
const words = (text: string) => text.replace(/\s+/g, ' ');

async function boxAt(prepare: (box: FakeBox) => void = () => {}) {
  const box = delivered();
  prepare(box);
  const port = await FakePort.open(box);
  const ask = (...args: readonly string[]) => standoff(folder, 'box', ...args, '--port', port.address);
  const value = (name: string) => box.app.parameters.get(PARAMETER_ROWS.find((row) => row.name === name)!.id);
  return { box, port, ask, value };
}

describe('standoff box', () => {
  it('shows who it is, why it started, and every parameter with its unit and what differs from its default', async () => {
    const { ask } = await boxAt((box) => {
      box.app.parameters.set(PARAMETER_ROWS.find(({ name }) => name === 'pierce_ms')!.id, 400);
    });
    const { status, stdout } = await ask();
    expect(status).toBe(0);
    const text = words(stdout);
    expect(text).toContain(`answers the box, version ${OLD.version} runs slot 0, generation 1`);
    expect(text).toContain(`module ${OLD.module_sha256.slice(0, 12)}, NOT the one on the desk`);
    expect(text).toContain('power was switched on, or the reset pin slot 0 runs:');
    expect(text).toContain('parameters the defaults, none kept');
    expect(text).toContain('pierce_ms 400 ms default 500');
    expect(text).toContain('reading_gain_mV 96.68 mV reading_zero_counts');
    for (const { name } of PARAMETER_ROWS) expect(stdout).toContain(name);
  });

  it('shows a loader too, which has no parameters, and refuses the rest with what to do', async () => {
    const { ask, port } = await boxAt((box) => {
      box.slots[0] = undefined;
      box.state = 'loader';
    });
    const { stdout } = await ask('show');
    expect(stdout).toContain('the loader, version');
    expect(stdout).toContain('no slot holds a valid image');
    expect(stdout).not.toContain('pierce_ms');
    for (const args of [['set', 'pierce_ms=400'], ['save', 'never.yaml'], ['events']]) {
      const { status, stderr } = await ask(...args);
      expect(status).toBe(2);
      expect(stderr).toContain('the loader answers, not the box');
    }
    expect(existsSync(join(folder, 'never.yaml'))).toBe(false);
    await port.close();
  });

  it('lets a box go on that was met while it started', async () => {
    const { ask, box } = await boxAt();
    box.restart('power-up', 'loader');
    const { stdout } = await ask('show');
    expect(stdout).toContain('the box, version');
    expect(stdout).toContain('pierce_ms');
    expect(box.asked).toContain('restart');
  });

  it('points at the events when something went wrong before this start', async () => {
    const { ask } = await boxAt((box) => {
      box.boot = 'hung';
    });
    expect((await ask()).stdout).toMatch(/What went before this start: standoff box events --port tcp/);
  });

  it('prints identity and parameters as JSON and nothing else', async () => {
    const { ask } = await boxAt();
    const { stdout, stderr } = await ask('show', '--json');
    expect(stderr).toBe('');
    const { format, identity, parameters } = JSON.parse(stdout);
    expect(format).toBe('standoff box 1');
    expect(identity).toMatchObject({ boot: 'power-up', module_sha256: OLD.module_sha256 });
    expect(parameters).toMatchObject({ reading_gain_mV: 96.68, pierce_ms: 500 });
  });

  it('tells the events before the last reset, each under its start', async () => {
    const kind = (name: string) => EVENT_ROWS.find((row) => row.name === name)!.code;
    const { ask } = await boxAt((box) => {
      box.app.events = [
        { tick: 91_000, start: 4, kind: kind('mode'), detail: 7, value: 0 },
        { tick: 91_250, start: 4, kind: kind('hung'), detail: 7, value: 91_250 },
        { tick: 0, start: 5, kind: kind('start'), detail: 7, value: 0 },
      ];
    });
    const { stdout } = await ask('events');
    expect(stdout.split('\n').map((line) => line.trim())).toEqual([
      'start 4 of the box',
      '91.000 s  follow',
      '91.250 s  HUNG: the tick stopped in follow; the last was 91250',
      'start 5 of the box',
      // Broken where 80 columns end.
      expect.stringMatching(/^0\.000 s {2}the box started: the control tick stopped: the watchdog/),
      expect.any(String),
      '',
    ]);
    expect(JSON.parse((await ask('events', '--json')).stdout).events).toHaveLength(3);
  });

  it('has no events: says so', async () => {
    const { ask } = await boxAt();
    expect((await ask('events')).stdout).toBe('The box has no events.\n');
  });
});

describe('a box that holds a value of a parameter that nothing uses any more', () => {
  const learning = () =>
    boxAt((box) => {
      box.app.parameters.set(PARAMETER_ROWS.find(({ name }) => name === 'learn_ms')!.id, 300);
    });
  const WARNING = 'learn_ms 300 has no effect any more: the target is found from each touch-off';

  it('is shown and saved with a sentence that says what to do', async () => {
    const { ask } = await learning();
    for (const args of [['show'], ['save', 'learning.yaml']]) {
      const { status, stdout } = await ask(...args);
      expect([status, words(stdout)]).toEqual([0, expect.stringContaining(WARNING)]);
    }
    expect(JSON.parse((await ask('show', '--json')).stdout).warnings).toEqual([expect.stringContaining(WARNING)]);
  });
});

describe('standoff box set', () => {
  it('shows what changes, changes that alone, and says that it is kept', async () => {
    const { ask, box, value } = await boxAt();
    const { status, stdout } = await ask('set', 'pierce_ms=400 ms', 'box.trim_V=0.1');
    expect(status).toBe(0);
    expect(words(stdout)).toMatch(
      /^pierce_ms 500 → 400 ms trim_V 0 → 0\.1 V The values until now are in .* In use now, and kept through power-off: generation 1\. $/,
    );
    expect([value('pierce_ms'), value('trim_V'), value('cut_height_mm')]).toEqual([400, Math.fround(0.1), 1.5]);
    expect(box.asked.filter((service) => service.startsWith('parameters-'))).toEqual(
      expect.arrayContaining(['parameters-stage', 'parameters-check', 'parameters-commit']),
    );
  });

  it('keeps what the box held in a dated file before it writes, and load brings it back', async () => {
    const { ask, value } = await boxAt();
    const { stdout } = await ask('set', 'pierce_ms=400', 'trim_V=0.5');
    const file = /box-before-\d{4}-\d\d-\d\d-\d{6}(-\d)?\.yaml/.exec(stdout)![0];
    expect(readSetup(readFileSync(join(folder, file), 'utf8'), file).box).toMatchObject({ pierce_ms: 500, trim_V: 0 });
    await ask('load', file);
    expect([value('pierce_ms'), value('trim_V')]).toEqual([500, 0]);
  });

  it('writes nothing when the box holds the values already', async () => {
    const { ask, box } = await boxAt();
    const { stdout } = await ask('set', 'reading_gain_mV=96.68');
    expect(stdout).toContain('Nothing changes');
    expect(box.asked).not.toContain('parameters-stage');
  });

  it.each([
    [['pierse_ms=400'], 'did you mean pierce_ms?'],
    [['pierce_ms=9000'], '0…5000 ms'],
    [['pierce_ms=4 V'], 'the unit V does not fit'],
    [['cut_height_mm=5'], 'is above box.pierce_height_mm'],
    [['world.sheet.wave_mm=0'], 'is not in the box'],
    [[], 'wants a parameter'],
  ])('refuses %j here, and nothing is sent', async (values, text) => {
    const { ask, box } = await boxAt();
    const { status, stderr } = await ask('set', ...values);
    expect(status).toBe(2);
    expect(stderr).toContain(text);
    expect(box.asked).not.toContain('parameters-stage');
  });

  it.each([
    ['key', 'the arm key is on'],
    ['busy', 'not at rest: it stands in follow'],
  ])('says why the box refuses and what to do: %s', async (reason, text) => {
    const { ask, value } = await boxAt(({ app }) => {
      app.key_on = reason === 'key';
      app.at_rest = reason !== 'busy';
    });
    const files = () => readdirSync(folder).filter((name) => name.startsWith('box-before'));
    const before = files();
    const { status, stdout, stderr } = await ask('set', 'pierce_ms=400');
    expect(status).toBe(2);
    expect(stderr).toContain(text);
    expect(value('pierce_ms')).toBe(500);
    // Nothing has changed: there is nothing to go back to.
    expect([files(), stdout]).toEqual([before, expect.not.stringContaining('box-before')]);
  });

  it.each([
    ['a fault', (app: FakeBox['app']) => (app.fault = 2), 'in the fault breakaway (the torch was knocked out'],
    ['voltage at the tap', (app: FakeBox['app']) => (app.arc_voltage = true), 'in rest, 63.0 V at the tap'],
  ])('passes over %s in the desk state, says so, and starts the box again', async (_, prepare, text) => {
    const { ask, box, value } = await boxAt(({ app }) => {
      prepare(app);
    });
    const { status, stdout } = await ask('set', 'pierce_ms=400');
    expect(status).toBe(0);
    expect(words(stdout)).toContain(`The box stands ${text}`);
    expect(words(stdout)).toContain('its outputs rest until the restart at the end of this command');
    expect(words(stdout)).toMatch(
      /in use after the restart that ends the desk state: generation 1\. The box has started again, and stands/,
    );
    expect([value('pierce_ms'), box.boot, box.app.in_desk]).toEqual([400, 'restart', false]);
  });

  it('starts the box again also when a value is refused in the desk state', async () => {
    const { ask, box, value } = await boxAt(({ app }) => {
      app.fault = 2;
      app.contradicts = [1, 2];
    });
    const { status, stdout } = await ask('set', 'pierce_ms=400');
    expect([status, value('pierce_ms'), box.app.in_desk]).toEqual([2, 500, false]);
    expect(stdout).toContain('The box has started again');
  });
});

describe('standoff box trim', () => {
  it('changes the trim at once, and keeps it with the key off', async () => {
    const { ask, box, value } = await boxAt();
    const { status, stdout } = await ask('trim', '0.5 V');
    expect([status, words(stdout)]).toEqual([
      0,
      'In force: trim 0.5 V. The target is led there at 2 V/s. Kept through power-off: generation 1. ',
    ]);
    expect([value('trim_V'), box.app.kept_generation]).toEqual([0.5, 1]);
  });

  it.each([
    ['key', 'the arm key is on'],
    ['busy', 'the box is not at rest'],
    ['voltage', 'there is voltage at the tap'],
  ])('changes it in a cut, where it is not kept, and says so: %s', async (reason, text) => {
    const { ask, box, value } = await boxAt(({ app }) => {
      app.key_on = reason === 'key';
      app.at_rest = reason !== 'busy';
      app.arc_voltage = reason === 'voltage';
    });
    const { status, stdout } = await ask('trim', '-0.5');
    expect([status, words(stdout)]).toEqual([0, expect.stringContaining(`Lost at power-off: ${text}.`)]);
    expect([value('trim_V'), box.app.kept_generation]).toEqual([-0.5, 0]);
  });

  it('says what is in force where the least standoff bounds it', async () => {
    const { ask, value } = await boxAt(({ app }) => {
      app.key_on = true;
    });
    expect(words((await ask('trim', '-9')).stdout)).toContain(
      'In force: trim -3 V. The target is led there at 2 V/s. -9 V would bring the torch below the least standoff.',
    );
    expect(value('trim_V')).toBe(-3);
  });

  it.each([
    [[], 'wants volts'],
    [['11'], '-10…10 V'],
    [['0.5 mm'], 'the unit mm does not fit'],
    [['0.5', '0.6'], 'does not take 0.6'],
    [['pierce_ms=400'], 'pierce_ms=400'],
  ])('refuses %j before the port is opened', async (args, text) => {
    const { ask, port } = await boxAt();
    const { status, stderr } = await ask('trim', ...args);
    expect(status).toBe(2);
    expect(stderr).toContain(text);
    expect(port.connections).toBe(0);
  });
});

describe('standoff box load and save', () => {
  it('load shows what changes, and what the file leaves out goes to its default', async () => {
    const { ask, value } = await boxAt((box) => {
      box.app.parameters.set(PARAMETER_ROWS.find(({ name }) => name === 'pierce_ms')!.id, 900);
    });
    const { stdout } = await ask('load', 'mine.yaml');
    expect(words(stdout)).toMatch(/pierce_ms 900 → 500 ms cut_height_mm 1\.5 → 1\.8 mm The values .* In use now/);
    expect([value('pierce_ms'), value('cut_height_mm')]).toEqual([500, Math.fround(1.8)]);
  });

  it('save writes every parameter into a new file, which reads back as what the box holds', async () => {
    const { ask } = await boxAt();
    await ask('set', 'pierce_ms=410', 'gain_d=0.07');
    expect((await ask('save', 'new.yaml')).stdout).toContain('Every parameter of the box is in new.yaml.');
    const { box } = readSetup(readFileSync(join(folder, 'new.yaml'), 'utf8'), 'new.yaml');
    expect(box).toMatchObject({ pierce_ms: 410, gain_d: 0.07, reading_gain_mV: 96.68 });
  });

  it('save never touches a file that is there, unless it is told to; then its comments and the rest stay', async () => {
    const { ask } = await boxAt();
    await ask('set', 'cut_height_mm=2.2', 'trim_V=0.5');
    const refused = await ask('save', 'mine.yaml');
    expect(refused.status).toBe(2);
    expect(refused.stderr).toMatch(/mine\.yaml exists[\s\S]*--force/);
    expect(readFileSync(join(folder, 'mine.yaml'), 'utf8')).toBe(MINE);
    await ask('save', 'mine.yaml', '--force');
    expect(readFileSync(join(folder, 'mine.yaml'), 'utf8')).toBe(
      MINE.replace('1.8 mm', '2.2 mm').replace('machine:', '  trim_V: 0.5\nmachine:'),
    );
    expect((await ask('save', 'mine.yaml', '--force')).stdout).toContain('has these values already');
    expect(readdirSync(folder).filter((name) => name.endsWith('.new'))).toEqual([]);
    writeFileSync(join(folder, 'mine.yaml'), MINE);
  });

  it.each([
    [['load', 'none.yaml'], 'does not exist'],
    [['load', 'bad.yaml'], 'did you mean cut_height_mm?'],
    [['load'], 'wants the name of a setup file'],
    [['save'], 'wants the name of a setup file'],
    [['save', 'cut.txt'], '.yaml or .yml'],
    [['save', 'bad.yaml', '--force'], 'cut_hight_mm'],
    [['show', 'pierce_ms'], 'does not take pierce_ms'],
    [['frobnicate'], 'show, events, set, trim, load, save'],
  ])('refuses %j before the port is opened', async (args, text) => {
    const { ask, port } = await boxAt();
    const { status, stderr } = await ask(...args);
    expect(status).toBe(2);
    expect(stderr).toContain(text);
    expect(port.connections).toBe(0);
  });
});
