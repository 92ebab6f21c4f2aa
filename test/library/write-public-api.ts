/** Part of `npm run generate`: writes the report of the public types. */
import { writeFileSync } from 'node:fs';
import { publicApiReport, REPORT } from './public-api.js';

writeFileSync(REPORT, publicApiReport());
