import { expect, it } from 'vitest';
import { amount } from '../support/volume.js';
import { usbNoise } from './usb-noise.js';

const BYTES = amount(1_000_000, 50_000, 200_000);

it(`${BYTES} random bytes over USB change nothing in the box and are not answered, and a frame right behind them is`, async () => {
  const { answers, edges, before, after, problems } = await usbNoise(BYTES, 7);
  expect({ answers, edges, problems }).toEqual({ answers: 0, edges: 0, problems: '' });
  expect(after).toEqual(before);
});
