/** What `standoff box` shows of the slots, and what it does about an image that the box went back to. */
import { describe, expect, it } from 'vitest';
import type { FakeBox } from '../link/fake-box.js';
import { slotOf } from '../link/fake-loader.js';
import { delivered, NEW, OLD } from '../link/flashing.js';
import { folderWith, standoff } from './command.js';
import { FakePort } from './fake-port.js';

const folder = folderWith({});
const words = (text: string): string => text.replace(/\s+/g, ' ');

async function boxAt(prepare: (box: FakeBox) => void = () => {}) {
  const box = delivered();
  prepare(box);
  const port = await FakePort.open(box);
  return { box, ask: (...args: readonly string[]) => standoff(folder, 'box', ...args, '--port', port.address) };
}

describe('standoff box', () => {
  it('shows what both slots hold: version, generation, hashes, and what each is', async () => {
    const { ask } = await boxAt((box) => {
      box.slots[1] = { ...slotOf(NEW, 2), given_up: true };
    });
    const { stdout } = await ask();
    const text = words(stdout);
    const short = (sha256: string) => sha256.slice(0, 12);
    const hashes = (image: typeof OLD) => `image ${short(image.image_sha256)}, module ${short(image.module_sha256)}`;
    expect(text).toContain(`slot 0 runs: version ${OLD.version}, generation 1, ${hashes(OLD)}: an image, whole`);
    expect(text).toContain(
      `slot 1 version ${NEW.version}, generation 2, ${hashes(NEW)}: an image that failed three times in a row: the box went back from it`,
    );
    const { slots } = JSON.parse((await ask('--json')).stdout);
    expect(slots).toMatchObject([
      { slot: 0, holds: 'valid', runs: true, body_sha256: OLD.image_sha256 },
      { slot: 1, holds: 'failed', runs: false, image_sha256: NEW.image_sha256 },
    ]);
  });

  it('warns of an image that was gone back to and has no parameters, and lets its values be kept as they are', async () => {
    const { ask, box } = await boxAt((made) => Object.assign(made, { options: { origin: 'withheld' } }));
    const text = words((await ask()).stdout);
    expect(text).toContain('parameters the defaults; those that are kept belong to another image');
    expect(text).toContain('the box cannot be armed. Set them: standoff box load');
    const { status, stdout } = await ask('set', 'pierce_ms=500');
    expect(status).toBe(0);
    expect(stdout).toContain('No value changes; all of them are kept for the image that runs.');
    expect(box.app.kept_generation).toBe(1);
  });

  it('keeps nothing when the values are in the box already', async () => {
    const { ask, box } = await boxAt();
    expect((await ask('set', 'pierce_ms=500')).stdout).toContain('Nothing changes');
    expect(box.app.kept_generation).toBe(0);
  });
});
