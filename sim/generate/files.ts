import { readFileSync } from 'node:fs';
import { GENERATED_FROM_WIRE, type Generated } from '../../firmware/wire/generator.js';
import { configSource } from './config.js';
import { parametersPage, recordedPage, setupPage } from './pages.js';
import { stateFieldsSource } from './state-fields.js';
import { blockSource, recorderSource } from './trace.js';

/** Where the state is declared, from the project's root, which is where generating runs. */
const STATE_SOURCE = 'firmware/control/state.ts';

/** Every generated file. */
export const GENERATED: readonly Generated[] = [
  ...GENERATED_FROM_WIRE,
  {
    path: 'firmware/wire/state-fields.gen.ts',
    source: () => stateFieldsSource(readFileSync(STATE_SOURCE, 'utf8')),
  },
  { path: 'sim/run/trace/block.gen.ts', source: blockSource },
  { path: 'sim/run/loop/record.gen.ts', source: recorderSource },
  { path: 'sim/world/plant/config.gen.ts', source: configSource },
  { path: 'hardware-notes/parameters.gen.md', source: parametersPage },
  { path: 'hardware-notes/setup.gen.md', source: setupPage },
  { path: 'hardware-notes/recorded.gen.md', source: recordedPage },
];
