import { closeSync, fsyncSync, openSync, readdirSync, readFileSync, statSync, writeFileSync, writeSync } from 'node:fs';
import { join } from 'node:path';
import { setTimeout as pause } from 'node:timers/promises';
import { boardNumber } from '../../../firmware/ports/rp2040/board-rows.js';
import { StandoffError } from '../../base/index.js';
import { readUf2 } from '../../link/index.js';

/** Every boot drive that takes UF2 files has this one (microsoft/uf2, README; memory). */
export const BOOT_MARK = 'INFO_UF2.TXT';

/** Whether this folder looks like the drive that a chip shows while its boot button is held. */
export const isBootDrive = (folder: string): boolean => {
  try {
    return statSync(join(folder, BOOT_MARK)).isFile();
  } catch {
    return false;
  }
};

/**
 * Writes a file into a folder, as far as the medium itself, and writes over nothing.
 * @returns where it is
 * @throws StandoffError `folder-missing`, `folder-none`, `file-exists`, `file-unwritable`
 */
export function writeToDrive(folder: string, name: string, bytes: Uint8Array): string {
  if (!statSync(folder, { throwIfNoEntry: false })) {
    throw new StandoffError(
      'folder-missing',
      `there is no ${folder}`,
      'give the path of the drive as this computer names it',
    );
  }
  if (!statSync(folder).isDirectory()) {
    throw new StandoffError('folder-none', `${folder} is not a folder`, 'give the path of the drive itself');
  }
  const path = join(folder, name);
  const file = opened(path);
  let written = 0;
  try {
    while (written < bytes.length) written += writeSync(file, bytes, written);
    fsyncSync(file);
  } catch (error) {
    // The chip starts with the last block, and its drive goes with it: what fails after that is no failure.
    if (written < bytes.length) throw unwritable(path, error);
  } finally {
    closed(file);
  }
  return path;
}

function opened(path: string): number {
  try {
    return openSync(path, 'wx');
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code !== 'EEXIST') throw unwritable(path, error);
    throw new StandoffError(
      'file-exists',
      `${path} exists`,
      'nothing is written over: take it away, or name the drive itself',
    );
  }
}

function closed(file: number): void {
  try {
    closeSync(file);
  } catch {
    // The drive has gone.
  }
}

function unwritable(path: string, error: unknown): StandoffError {
  const { code = 'unknown error' } = error as NodeJS.ErrnoException;
  return new StandoffError(
    'file-unwritable',
    `${path} cannot be written (${code})`,
    'is the drive still there? Copy the file yourself',
  );
}

/**
 * Makes an empty folder look like a boot drive.
 * @throws StandoffError `folder-missing`, `folder-none`, `file-exists`: a file for the chip is in it already
 */
export function standForDrive(folder: string): void {
  const found = statSync(folder, { throwIfNoEntry: false });
  if (!found) throw new StandoffError('folder-missing', `there is no folder ${folder}`, 'make an empty one');
  if (!found.isDirectory()) throw new StandoffError('folder-none', `${folder} is not a folder`, 'name an empty folder');
  const there = readdirSync(folder).find((name) => UF2.test(name));
  if (there !== undefined)
    throw new StandoffError('file-exists', `${folder} has ${there} already`, 'name an empty folder');
  if (!isBootDrive(folder))
    writeFileSync(join(folder, BOOT_MARK), 'This folder stands for the boot drive of an emulated board.\n');
}

const UF2 = /\.uf2$/i;
const LOOK_ms = 100;
const FLASH_BASE = boardNumber('FLASH_BASE');
const FLASH_BYTES = boardNumber('FLASH_BYTES');

/**
 * Waits, as the boot ROM of a chip does, for a whole UF2 file for this chip in a folder that stands for its drive.
 * @returns what is in the flash then; undefined when the signal came first
 */
export async function awaitFirmware(folder: string, signal: AbortSignal): Promise<Uint8Array | undefined> {
  while (!signal.aborted) {
    for (const name of readdirSync(folder)) {
      const pieces = UF2.test(name) ? readUf2(Uint8Array.from(readFileSync(join(folder, name)))) : undefined;
      const places = pieces?.map(({ address, bytes }) => ({ at: address - FLASH_BASE, bytes }));
      if (!places?.every(({ at, bytes }) => at >= 0 && at + bytes.length <= FLASH_BYTES)) continue;
      const flash = new Uint8Array(FLASH_BYTES).fill(0xff);
      for (const { at, bytes } of places) flash.set(bytes, at);
      return flash;
    }
    await pause(LOOK_ms);
  }
  return undefined;
}
