/** A stranger's program: a campaign of random cuts with a requirement of its own. Prints what it came to as JSON. */
import { fileURLToPath } from 'node:url';
import { campaign, exampleSetup } from 'standoff';

const RUNS = 6;
const setup = exampleSetup();
const ranges = campaign.changeRanges(campaign.rangesAround(setup), setup, ['faults=0', 'operator=0']);
const requirements_file = fileURLToPath(new URL('./near-cut-height.js', import.meta.url));
const record = await campaign.runCampaign({
  campaign: { setup, ranges, programs: campaign.SHORT_CUTS, seed: 3, requirements_file },
  runs: RUNS,
  span: [0, RUNS],
  workers: 1,
});
const { cases, requirements } = record.tally;
console.log(JSON.stringify({ cases, wide: requirements['within-5000-um'], narrow: requirements['within-1-um'] }));
