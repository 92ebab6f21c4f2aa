export { type CampaignOptions, campaignIdentity, runCampaign, runSearches } from './campaign.js';
export { type Case, type CaseSpace, caseScenario } from './case.js';
export { type Campaign, CaseRunner, ownRequirements } from './case-runner.js';
export { BOUNDS, type Cell } from './cell.js';
export { brokenRequirements } from './judge.js';
export {
  centreOf,
  type GainMap,
  type MapAxis,
  type MapCentre,
  mapAxis,
  presentIsGood,
  regionOf,
  runMap,
} from './map.js';
export { differences, mergeRecords } from './merge.js';
export { SHORT_CUTS } from './programs.js';
export { changeRanges, type Ranges, rangesAround, refuseContradictingRanges } from './ranges.js';
export {
  type CampaignRecord,
  missingSpans,
  readRecord,
  type Span,
  shardSpan,
  writeRecord,
} from './record.js';
export { type SearchResult, search } from './search.js';
export { type Shrunk, shrink } from './shrink.js';
export { chanceBound, type RequirementTally, type Tally } from './tally.js';
