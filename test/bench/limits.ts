import { motionLimits } from '../../sim/loop/index.js';
import { exampleSetup } from '../../sim/setup/index.js';

/** What the example's table can do. */
export const LIMITS = motionLimits(exampleSetup().machine);
