/**
 * `node dist/tools/test/bench/usb-noise.js [--bytes N] [--seed N]`: random bytes from a PC at the USB port of the emulated board, and
 * whether anything changed in the box. Exit status 1 when something did.
 */
import { parseArgs } from 'node:util';
import { usbNoise } from '../emulator/usb-noise.js';

const OPTIONS = { bytes: { type: 'string', default: '1000000' }, seed: { type: 'string', default: '1' } } as const;

const { values } = parseArgs({ options: OPTIONS });
const [bytes, seed] = [Number(values.bytes), Number(values.seed)];
if (!Number.isInteger(bytes) || bytes < 1 || !Number.isInteger(seed)) {
  throw new Error('--bytes and --seed want whole numbers');
}
const { answers, edges, before, after, took_s, problems } = await usbNoise(bytes, seed);
const changed = JSON.stringify(before) !== JSON.stringify(after);
console.log(JSON.stringify({ bytes, seed, board_s: Number(took_s.toFixed(2)), answers, edges, changed, problems }));
process.exitCode = changed || answers > 0 || edges > 0 || problems !== '' ? 1 : 0;
