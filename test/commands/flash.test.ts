import { describe, expect, it } from 'vitest';
import { loadControlModule } from '../../sim/run/controller/index.js';
import { FakeBox, type FakeBoxOptions } from '../link/fake-box.js';
import { slotOf } from '../link/fake-loader.js';
import { NEW, newestOf, OLD } from '../link/flashing.js';
import { inventedImageFile } from '../link/images.js';
import { ended, folderWith, standoff, start } from './command.js';
import { FakePort } from './fake-port.js';

const damaged = inventedImageFile(2900, 2);
damaged[700] ^= 1;
const folder = folderWith({
  'new.image': inventedImageFile(2900, 2),
  'long.image': inventedImageFile(48_000, 3),
  'damaged.image': damaged,
  'other.image': inventedImageFile(2900, 2, { board: 0x4321 }),
  'README.txt': 'no image at all',
});
const short = (sha256: string) => sha256.slice(0, 12);
const desk = loadControlModule().sha256;

const boxAt = (options: FakeBoxOptions = {}) =>
  FakePort.open(new FakeBox({ slots: [slotOf(OLD, 1), undefined], ...options }));
const flash = (address: string, ...more: readonly string[]) =>
  standoff(folder, 'flash', '--port', address, '--image', 'new.image', ...more);

describe('standoff flash', () => {
  it('says what is in the box and what will be written before it writes, and what is in the box afterwards', async () => {
    const { box, address } = await boxAt();
    const { status, stdout, stderr } = await flash(address);
    expect([status, stderr]).toEqual([0, '']);
    const lines = stdout.split('\n');
    const place = (words: string) => lines.findIndex((line) => line.includes(words));
    expect(place(`image: version ${NEW.version}, 2900 bytes, module ${short(NEW.module_sha256)}, NOT the one`)).toBe(0);
    const before = place(`in the box now: box ${OLD.version}, module ${short(OLD.module_sha256)}`);
    const writing = place('writing: ');
    const after = place(
      `in the box now: box ${NEW.version}, module ${short(NEW.module_sha256)}, NOT the one on the desk`,
    );
    expect(before).toBeGreaterThan(0);
    expect(writing).toBeGreaterThan(before);
    expect(place('written and verified: slot 1, generation 2')).toBeGreaterThan(writing);
    expect(after).toBeGreaterThan(writing);
    expect(stdout).toContain(short(desk));
    expect(newestOf(box)).toBe(NEW);
  });

  it('on a pipe prints plain lines: no escape, no carriage return', async () => {
    const { address } = await boxAt();
    const { stdout } = await flash(address);
    for (const control of ['\x1b', '\r']) expect(stdout).not.toContain(control);
    expect(stdout).toContain('writing: 2900 of 2900 bytes');
  });

  it('writes nothing when the box runs this image already, and says so', async () => {
    const { box, address } = await boxAt({ slots: [slotOf(NEW, 4), undefined] });
    const { status, stdout } = await flash(address);
    expect(status).toBe(0);
    expect(stdout).toContain(
      `nothing was written: slot 0, generation 4 holds it, SHA-256 ${short(NEW.image_sha256)} as computed in the box`,
    );
    expect(box.starts).toBe(0);
  });

  it('says that the box went back from an image that fails, and that it cannot be armed without parameters', async () => {
    const { address } = await boxAt({ fails_generation: 2, origin: 'withheld' });
    const { status, stdout } = await flash(address);
    expect(status).toBe(1);
    expect(stdout).toContain(
      'The new image failed three times in a row. The box has given it up and runs the one before it.',
    );
    expect(stdout).toMatch(/cannot be armed\. Set them: standoff box load/);
  });

  it('says of an older loader what it cannot do, and what to do about it', async () => {
    const { address } = await boxAt({ old: true });
    const { status, stdout } = await flash(address);
    expect(status).toBe(0);
    expect(stdout).toMatch(/The loader in the box is older .* copy standoff\.uf2/);
    expect(stdout).not.toContain('as computed in the box');
  });

  it.each([
    ['key', 'the arm key is on'],
    ['busy', 'not at rest'],
  ])('refuses with the box’s reason: %s', async (reason, words) => {
    const { box, address } = await boxAt();
    box.app.key_on = reason === 'key';
    box.app.at_rest = reason !== 'busy';
    const { status, stderr } = await flash(address);
    expect(status).toBe(2);
    expect(stderr).toContain(words);
    expect(stderr.split('\n').length).toBeGreaterThan(2);
    expect(newestOf(box)).toBe(OLD);
  });

  it('says what runs, and what stays, when the key is turned while it writes', async () => {
    const { box, address } = await boxAt();
    const child = start(folder, ['flash', '--port', address, '--image', 'new.image', '--plain']);
    child.stdout?.on('data', () => {
      if (box.state === 'loader') box.app.key_on = true;
    });
    const { status, stderr } = await ended(child);
    expect(status).toBe(2);
    expect(stderr.replace(/\s+/g, ' ')).toMatch(
      /the arm key is on; its loader runs now, with every output at rest, .* turn the arm key off, then again: standoff flash --port/,
    );
    expect(newestOf(box)).toBe(OLD);
  });

  it.each([
    ['damaged.image', 'damaged body'],
    ['other.image', 'another board'],
    ['README.txt', 'has 15 bytes'],
    ['none.image', 'does not exist'],
  ])('does not even open the port for %s', async (file, words) => {
    const port = await boxAt();
    const { status, stderr } = await standoff(folder, 'flash', '--port', port.address, '--image', file);
    expect(status).toBe(2);
    expect(stderr).toContain(words);
    expect(port.connections).toBe(0);
  });

  it('takes a broken link up where it broke, and says so', async () => {
    const port = await boxAt();
    const child = start(folder, ['flash', '--port', port.address, '--image', 'long.image']);
    const running = ended(child);
    child.stdout?.on('data', (chunk) => {
      if (String(chunk).includes('writing: 12')) port.unplug();
    });
    const { status, stdout } = await running;
    expect(status).toBe(0);
    expect(stdout).toContain('The link broke; it is resumed as often as it breaks.');
    expect(stdout).toMatch(/written and verified: .*after 1 broken link$/m);
    expect(port.box.slots[1]?.body).toHaveLength(48_000);
    // Not all of it again: a frame carries 256 bytes, and a few are under way when the plug is pulled.
    const frames = port.box.asked.filter((service) => service === 'update-write').length;
    expect(frames).toBeLessThan(48_000 / 256 + 20);
  });

  it('tells of a line that breaks again and again once, and how often at the end', async () => {
    const port = await boxAt();
    const child = start(folder, ['flash', '--port', port.address, '--image', 'long.image']);
    const running = ended(child);
    let breaks = 0;
    // After each break a little more comes through.
    const breaking = setInterval(() => {
      if (port.box.asked.includes('update-write') && breaks < 6) {
        breaks++;
        port.unplug();
      }
    }, 150);
    const { status, stdout } = await running;
    clearInterval(breaking);
    expect(status).toBe(0);
    const lines = stdout.split('\n');
    expect(lines.filter((line) => line.includes('The link broke'))).toHaveLength(1);
    expect(new Set(lines).size).toBe(lines.length);
    expect(stdout).toMatch(/after \d broken links?$/m);
  });

  it('broken off with Ctrl-C says what the box has now; the next flash goes on', async () => {
    const port = await boxAt({ busy_polls: 1 });
    const child = start(folder, ['flash', '--port', port.address, '--image', 'long.image']);
    child.stdout?.on('data', (chunk) => {
      if (String(chunk).includes('writing: 12')) child.kill('SIGINT');
    });
    const { status, stdout, stderr } = await ended(child);
    expect([status, stderr]).toEqual([130, '']);
    expect(stdout).toContain('Interrupted. The box starts the image that it had; flash again to go on.');
    expect(newestOf(port.box)).toBe(OLD);
    const again = await standoff(folder, 'flash', '--port', port.address, '--image', 'long.image');
    expect(again.status).toBe(0);
    expect(port.box.slots[1]?.body).toHaveLength(48_000);
  });

  it('tells an image that does not start from one that does', async () => {
    const { address } = await boxAt({ fails_generation: 1, slots: [undefined, undefined] });
    const { status, stderr } = await flash(address);
    expect(status).toBe(2);
    expect(stderr).toContain('it does not start');
  });

  it('says what to do when nobody answers', async () => {
    const { box, address } = await boxAt();
    box.state = 'off';
    const child = start(folder, ['flash', '--port', address, '--image', 'new.image']);
    child.stdout?.on('data', (chunk) => {
      if (String(chunk).includes('switch the box off and on')) box.restart();
    });
    const { status, stdout } = await ended(child);
    expect(stdout).toContain(': switch the box off and on, or press its reset.');
    expect(status).toBe(0);
    expect(newestOf(box)).toBe(NEW);
  });
});
