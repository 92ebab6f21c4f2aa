export { BEYOND_THE_BOX, beyondTheBox, type Causes } from './beyond.js';
export {
  CampaignFile,
  type CampaignOptions,
  campaignIdentity,
  refuseOtherCampaign,
  runCampaign,
  runSearches,
} from './campaign.js';
export { type Case, type CaseSpace, caseScenario } from './case.js';
export { brokenRequirements, type Campaign, CaseRunner, ownRequirements, SHORT_CUTS } from './case-runner.js';
export { type FaultTrial, plantFault, type TrialResult, tryFaults } from './fault-trial.js';
export {
  type Cell,
  centreOf,
  type GainMap,
  type MapAxis,
  type MapCentre,
  mapAxis,
  mapCampaign,
  presentIsGood,
  regionOf,
  runMap,
  widerRange,
  worstCell,
} from './map.js';
export { drawnProgram, type Sheet } from './programs.js';
export {
  type Finished,
  finishedTable,
  finishedTotal,
  QUALITY_FIGURES,
  type Quality,
  type QualityFigure,
  quantileOf,
} from './quality.js';
export { CAUSES, changeRanges, type Range, type Ranges, rangesAround, refuseContradictingRanges } from './ranges.js';
export {
  brokenIn,
  type CampaignRecord,
  differences,
  mergeRecords,
  missingSpans,
  nearestBound,
  readRecord,
  type Span,
  shardSpan,
  writeRecord,
} from './record.js';
export { bestSearch, type SearchResult, search } from './search.js';
export { type Shrunk, shrink } from './shrink.js';
export {
  type BrokenCase,
  type NearCase,
  needsText,
  type Replay,
  type Replayed,
  replayOf,
  storeCases,
} from './stored-cases.js';
export { BOUNDS, chanceBound, type RequirementTally, type Tally } from './tally.js';
export type { Comparison, Difference, TrialCut, TrialSummary } from './trial.js';
export {
  runTune,
  TUNE_FORMAT,
  type TuneConclusion,
  type TuneNeighbour,
  type TuneParameter,
  type Tuning,
  tuneJsonSchema,
  tuneParameters,
} from './tune.js';
