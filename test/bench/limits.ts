import { motionLimits } from '../../sim/run/loop/index.js';
import { exampleSetup } from '../../sim/run/setup/index.js';

/** What the example's table can do. */
export const LIMITS = motionLimits(exampleSetup().machine);
