/**
 * `node dist/tools/test/bench/desk.js [--episodes N] [--seed N]`: random episodes of the desk state on the emulated chip, and what they
 * showed of the requirements that pins can show. Exit status 1 when one was broken.
 */
import { parseArgs } from 'node:util';
import { Random } from '../../sim/base/index.js';
import { EmulatedBoard } from '../../sim/emulator/index.js';
import { DeskBench } from '../emulator/desk-episodes.js';
import { loadImage, loadLoader } from '../emulator/images.js';

const OPTIONS = { episodes: { type: 'string', default: '1000' }, seed: { type: 'string', default: '1' } } as const;
/** The memory of a board grows with its recorded edges. */
const EPISODES_A_BOARD = 50;

const { values } = parseArgs({ options: OPTIONS });
const [episodes, seed] = [Number(values.episodes), Number(values.seed)];
if (!Number.isInteger(episodes) || episodes < 1 || !Number.isInteger(seed)) {
  throw new Error('--episodes and --seed want whole numbers');
}
const seen = { entered: 0, stops_kept: 0, stops_handed_over: 0 };
const margins: Record<string, number> = {};
let bench: DeskBench | undefined;
for (let episode = 0; episode < episodes; episode++) {
  if (bench === undefined || episode % EPISODES_A_BOARD === 0) {
    const board = await EmulatedBoard.create({ loader: loadLoader(), image: loadImage() });
    bench = new DeskBench(board, new Random(seed, episode));
  }
  const { entered, stop_before, stop_at_restart, broken } = bench.play();
  seen.entered += Number(entered);
  seen.stops_kept += Number(entered && stop_before);
  seen.stops_handed_over += Number(entered && stop_at_restart);
  for (const [requirement, what] of broken) {
    margins[requirement] = (margins[requirement] ?? 0) - 1;
    console.error(`episode ${episode}, ${requirement}: ${JSON.stringify(what)}`);
  }
}
console.log(JSON.stringify({ episodes, seed, ...seen, broken: margins }));
process.exitCode = Object.keys(margins).length > 0 ? 1 : 0;
