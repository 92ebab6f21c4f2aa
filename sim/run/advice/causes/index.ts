export { arcAndNoise } from './arc.js';
export { boxAndWorld } from './box-and-world.js';
export { breakage } from './breakage.js';
export { limits } from './limits.js';
export { settings, trials } from './settings.js';
export { sheetAndFeed, slower } from './sheet.js';
export type { Case, Remedy, Suspicion } from './suspicion.js';
