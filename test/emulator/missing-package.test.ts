import { expect, it, vi } from 'vitest';
import { EmulatedBoard } from '../../sim/emulator/index.js';

vi.mock('rp2040js', () => {
  throw new Error('Cannot find package rp2040js');
});

it('names the package that an emulated board wants when it is not there', async () => {
  await expect(EmulatedBoard.create({})).rejects.toMatchObject({
    code: 'emulator-missing',
    message: expect.stringContaining('npm install rp2040js'),
  });
});
