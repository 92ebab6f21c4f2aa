/**
 *   node test/bench/against.mjs CHECKOUT [CUTS]
 *
 * This build against that of another checkout, both built: the same cuts of a campaign, with faults and operators, one after
 * the other in reused instances. Prints in how many every recorded column of every tick is the same, and the processor time
 * of the cuts with all requirements, alternating cut by cut. Nothing here passes or fails.
 */
import { createHash } from 'node:crypto';
import { resolve } from 'node:path';
import { fileURLToPath, pathToFileURL } from 'node:url';

const [checkout, count = '300'] = process.argv.slice(2);
const cuts = Number(count);
if (checkout === undefined || !(cuts >= 1)) {
  console.error('give the folder of another checkout, and how many cuts');
  process.exit(2);
}

/** A build with a campaign of its own. */
async function buildIn(folder) {
  const standoff = await import(pathToFileURL(resolve(folder, 'dist/sim/index.js')).href);
  const { CaseRunner, rangesAround, SHORT_CUTS } = standoff.campaign;
  const setup = standoff.exampleSetup();
  const campaign = { setup, ranges: rangesAround(setup), programs: SHORT_CUTS, seed: 4711 };
  return {
    runner: new CaseRunner(campaign),
    columns: standoff.COLUMN_ROWS.map(({ name }) => name),
    spent_us: 0,
    ticks: 0,
  };
}
const here = await buildIn(fileURLToPath(new URL('../..', import.meta.url)));
const there = await buildIn(checkout);
const shared = here.columns.filter((name) => there.columns.includes(name));

/** Hash of the shared columns of a cut. */
function watched({ runner }, index, one) {
  const hashes = shared.map(() => createHash('sha256'));
  const watch = {
    block(block) {
      for (const [at, name] of shared.entries()) {
        const { buffer, byteOffset, byteLength } = block[name].subarray(0, block.count);
        hashes[at].update(new Uint8Array(buffer, byteOffset, byteLength));
      }
    },
  };
  const { ended, ticks } = runner.judge(index, one, [watch]);
  return [ended, ticks, ...hashes.map((hash) => hash.digest('hex'))];
}

function timed(build, index, one) {
  const start = process.cpuUsage();
  build.ticks += build.runner.judge(index, one).ticks;
  const { user, system } = process.cpuUsage(start);
  build.spent_us += user + system;
}

let same = 0;
for (let index = 0; index < cuts; index++) {
  const one = there.runner.caseOf(index);
  const [a, b] = [watched(here, index, one), watched(there, index, one)];
  const differs = shared.filter((_, at) => a[at + 2] !== b[at + 2]);
  if (String(a) === String(b)) same++;
  else
    console.log(
      `cut ${index}: ${a[0]} after ${a[1]} ms and ${b[0]} after ${b[1]} ms; differs in ${differs.join(', ')}`,
    );
}
console.log(`${same} of ${cuts} cuts are the same in ${shared.length} columns`);

const ratios = [];
for (let round = 0; round < 7; round++) {
  for (const build of [here, there]) Object.assign(build, { spent_us: 0, ticks: 0 });
  for (let index = 0; index < cuts; index++) {
    const one = there.runner.caseOf(index);
    for (const build of index % 2 === 0 ? [here, there] : [there, here]) timed(build, index, one);
  }
  ratios.push(there.spent_us / here.spent_us);
}
ratios.sort((a, b) => a - b);
const rate = ({ ticks, spent_us }) => Math.round((ticks / 10_000 / spent_us) * 1e6);
console.log(`cuts of ten seconds a second: ${rate(here)} here, ${rate(there)} there`);
console.log(
  `processor time there / here: ${ratios[3].toFixed(2)} median, ${ratios[0].toFixed(2)} to ${ratios[6].toFixed(2)}`,
);
