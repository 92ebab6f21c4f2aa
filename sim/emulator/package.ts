import type { RP2040 } from 'rp2040js';
import { StandoffError } from '../base/index.js';

/** What is used of the emulator package, which is loaded only when a board is wanted. */
export interface EmulatorPackage {
  readonly RP2040: typeof RP2040;
}

/** @throws StandoffError emulator-missing */
export async function loadEmulatorPackage(): Promise<EmulatorPackage> {
  try {
    return await import('rp2040js');
  } catch {
    throw new StandoffError(
      'emulator-missing',
      'the emulated board wants the package rp2040js, which is not installed',
      'install it: npm install rp2040js',
    );
  }
}
