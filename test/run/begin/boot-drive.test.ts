/** A file goes to a drive that was named, over nothing; a folder stands for the drive of an emulated board. */
import { mkdirSync, readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { awaitFirmware, isBootDrive, standForDrive, writeToDrive } from '../../../sim/run/begin/index.js';
import { folderWith } from '../../commands/command.js';
import { SHIPPED_UF2 } from './uf2.js';

const folder = folderWith({ file: 'no folder' });
let made = 0;
function empty(): string {
  const path = join(folder, `drive-${made++}`);
  mkdirSync(path);
  return path;
}

describe('writing to a drive', () => {
  it('writes the file whole', () => {
    const drive = empty();
    expect(readFileSync(writeToDrive(drive, 'a.uf2', SHIPPED_UF2)).equals(SHIPPED_UF2)).toBe(true);
  });

  it('writes over nothing, and neither makes a folder nor takes a file for one', () => {
    const drive = empty();
    writeFileSync(join(drive, 'a.uf2'), 'mine');
    const code = (work: () => unknown) => {
      try {
        work();
      } catch (error) {
        return (error as { code: string }).code;
      }
      return 'nothing was thrown';
    };
    expect(code(() => writeToDrive(drive, 'a.uf2', SHIPPED_UF2))).toBe('file-exists');
    expect(readFileSync(join(drive, 'a.uf2'), 'utf8')).toBe('mine');
    expect(code(() => writeToDrive(join(folder, 'none'), 'a.uf2', SHIPPED_UF2))).toBe('folder-missing');
    expect(code(() => writeToDrive(join(folder, 'file'), 'a.uf2', SHIPPED_UF2))).toBe('folder-none');
    expect(readdirSync(folder)).not.toContain('none');
  });
});

describe('a folder that stands for a boot drive', () => {
  it('has the mark of one, and no file for the chip yet', () => {
    const drive = empty();
    expect(isBootDrive(drive)).toBe(false);
    standForDrive(drive);
    expect(isBootDrive(drive)).toBe(true);
    writeToDrive(drive, 'a.uf2', SHIPPED_UF2);
    expect(() => standForDrive(drive)).toThrow(/has a.uf2 already/);
  });

  it('passes over what is no UF2 file for this chip, and one that is not whole yet', async () => {
    const drive = empty();
    const stop = new AbortController();
    let flash: Uint8Array | undefined;
    const waiting = awaitFirmware(drive, stop.signal).then((found) => {
      flash = found;
    });
    const other = Uint8Array.from(SHIPPED_UF2);
    for (let at = 0; at < other.length; at += 512) other[at + 28] ^= 1; // the family
    writeFileSync(join(drive, 'other.uf2'), other);
    writeFileSync(join(drive, 'text.uf2'), 'hello');
    writeFileSync(join(drive, 'part.uf2'), SHIPPED_UF2.subarray(0, 2048));
    await new Promise((resolve) => setTimeout(resolve, 350));
    expect(flash).toBeUndefined();
    writeFileSync(join(drive, 'part.uf2'), SHIPPED_UF2);
    await waiting;
    expect(flash).toHaveLength(0x200000);
    // The boot block is not all ones, as an empty flash is.
    expect(flash!.subarray(0, 256).some((byte) => byte !== 0xff)).toBe(true);
  });

  it('is given up when somebody says so', async () => {
    expect(await awaitFirmware(empty(), AbortSignal.abort())).toBeUndefined();
  });
});
