import { afterAll, expect, it, vi } from 'vitest';

// What other files of this process have loaded is put aside, and what is loaded here is not left to them.
vi.resetModules();
vi.doMock('rp2040js', () => {
  throw new Error('Cannot find package rp2040js');
});
afterAll(() => {
  vi.doUnmock('rp2040js');
  vi.resetModules();
});

it('names the package that an emulated board wants when it is not there', async () => {
  const { EmulatedBoard } = await import('../../sim/emulator/index.js');
  await expect(EmulatedBoard.create({})).rejects.toMatchObject({
    code: 'emulator-missing',
    message: expect.stringContaining('npm install rp2040js'),
  });
});
