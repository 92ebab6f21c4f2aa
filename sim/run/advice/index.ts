export { advise } from './advise.js';
export { applyChanges, type Change } from './changes.js';
export { improves, type Together, togetherOf, worsened } from './compare.js';
export { type Trial, trialOf } from './trials.js';
