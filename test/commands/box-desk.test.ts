import { describe, expect, it } from 'vitest';
import type { FakeBox } from '../link/fake-box.js';
import { delivered } from '../link/flashing.js';
import { ended, folderWith, standoff, start } from './command.js';
import { FakePort } from './fake-port.js';

const folder = folderWith({});
const words = (text: string) => text.replace(/\s+/g, ' ');

async function boxAt(prepare: (box: FakeBox) => void = () => {}) {
  const box = delivered();
  prepare(box);
  const port = await FakePort.open(box);
  return { box, port, ask: (...args: readonly string[]) => standoff(folder, 'box', ...args, '--port', port.address) };
}

describe('a port without a box', () => {
  it('is told within two seconds, before it is given up', async () => {
    const { ask, port } = await boxAt();
    port.mute = true;
    const { status, stderr } = await ask();
    expect(status).toBe(2);
    expect(stderr).toMatch(/^No answer from \S+ yet; asking on/);
    expect(words(stderr)).toContain('is silent: no answer to identity');
  });

  it.each([['box'], ['flash'], ['lockstep'], ['watch']])('has an address: %s refuses an empty one', async (command) => {
    const { status, stderr } = await standoff(folder, command, '--port', '');
    expect([status, words(stderr)]).toEqual([2, expect.stringContaining('It is empty')]);
  });
});

describe('the chip of a box', () => {
  it('is shown with its revision, and without a word where it is the usual one', async () => {
    const { stdout } = await (await boxAt()).ask();
    expect(stdout).toMatch(/chip +RP2040, revision B2\n/);
    expect(stdout).not.toContain('erratum');
  });

  it('of revision B0 or B1 has a warning, and is in the JSON', async () => {
    const { ask } = await boxAt(({ app }) => {
      app.chip_id = 0x10002927;
    });
    const { stdout } = await ask();
    expect(stdout).toMatch(/chip +RP2040, revision B0 or B1\n/);
    expect(words(stdout)).toMatch(/behind a busy USB hub .*RP2040-E5.* takes GPIO15, which is the stop chain here/);
    const { identity, warnings } = JSON.parse((await ask('--json')).stdout);
    expect([identity.chip_id, warnings.length]).toEqual([0x10002927, 1]);
  });

  it.each([
    ['that does not say what it is', 0, /^(?!.*^chip )/ms],
    ['of another maker', 0x10002926, /chip +unknown \(0x10002926\)/],
  ])('%s is told as that, without a warning', async (_, chip_id, shown) => {
    const { ask } = await boxAt(({ app }) => {
      app.chip_id = chip_id;
    });
    const { stdout } = await ask();
    expect(stdout).toMatch(shown);
    expect(stdout).not.toContain('erratum');
  });
});

describe('standoff box desk and restart', () => {
  it('brings the box into the desk state, leaves it there for other commands, and ends it', async () => {
    const { ask, box } = await boxAt(({ app }) => {
      app.fault = 2;
    });
    const begun = await ask('desk');
    expect(words(begun.stdout)).toMatch(
      /in the fault breakaway .* in the desk state: .* next: standoff box restart --port/,
    );
    const set = await ask('set', 'pierce_ms=400');
    expect(words(set.stdout)).toContain('in use after the restart that ends the desk state: generation 1');
    const still = /The box is in the desk state still, as before: .* standoff box restart --port \S+ ends it\./;
    expect(words(set.stdout)).toMatch(still);
    const again = await ask('set', 'pierce_ms=400');
    expect(words(again.stdout)).toMatch(/Nothing changes: .* values already\./);
    expect(words(again.stdout)).toMatch(still);
    expect(box.app.in_desk).toBe(true);
    expect((await ask('show')).stdout).toMatch(/stands +in the fault breakaway .*in the desk state/);
    expect((await ask('restart')).stdout).toContain('The box has started again, and stands again in the fault');
    expect(box.app.in_desk).toBe(false);
  });

  it.each([['box set pierce_ms=400'], ['lockstep --ticks 20']])('is ended also after Ctrl-C: %s', async (command) => {
    const { box, port } = await boxAt(({ app }) => {
      app.fault = 2;
    });
    const child = start(folder, [...command.split(' '), '--port', port.address]);
    const end = ended(child);
    // Told to start again; the command waits for it.
    while (!box.asked.includes('restart')) await new Promise((resolve) => setTimeout(resolve, 10));
    child.kill('SIGINT');
    expect((await end).stdout).toContain('The box has started again');
    expect(box.app.in_desk).toBe(false);
  });

  it('says so when the box does not start again, after what came of the work', async () => {
    const { ask } = await boxAt((box) => {
      box.app.fault = 2;
      box.restart = () => {};
    });
    const { status, stdout, stderr } = await ask('set', 'pierce_ms=400');
    expect([status, words(stderr)]).toEqual([2, expect.stringContaining('the box is in the desk state still')]);
    expect(words(stdout)).toContain(
      'generation 1. The box may be in the desk state still: standoff box restart --port',
    );
    expect(stdout).not.toContain('started again');
  });

  it.each(['box set pierce_ms=400', 'box desk', 'lockstep --ticks 20', 'flash'])(
    'a refusal names the fault behind the key, and the next command: %s',
    async (command) => {
      const { box, port } = await boxAt(({ app }) => {
        app.fault = 2;
        app.key_on = true;
      });
      const { status, stderr } = await standoff(folder, ...command.split(' '), '--port', port.address);
      expect(status).toBe(2);
      expect(words(stderr)).toMatch(/the arm key is on; it stands in the fault breakaway \(.*, key on/);
      const typed = `standoff ${command} --port ${port.address}`;
      expect(words(stderr)).toContain(
        `turn the arm key off, then again: ${typed} (it passes over the fault breakaway in the desk state)`,
      );
      box.app.key_on = false;
      // What was named is all that stood in the way.
      if (command.startsWith('box')) {
        expect((await standoff(folder, ...command.split(' '), '--port', port.address)).status).toBe(0);
      }
    },
  );

  it.each([
    ['restart', 'rest', 'the box is not in the desk state: it stands in rest'],
    ['restart', 'key', 'the arm key is on'],
    ['desk', 'key', 'the arm key is on'],
  ])('%s is refused with what to do: %s', async (action, state, text) => {
    const { ask } = await boxAt(({ app }) => {
      app.key_on = state === 'key';
      app.in_desk = state === 'key' && action === 'restart';
    });
    const { status, stderr } = await ask(action);
    expect([status, words(stderr)]).toEqual([2, expect.stringContaining(text)]);
  });
});
