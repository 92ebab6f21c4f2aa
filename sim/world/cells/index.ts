export { cellsSource } from './generator.js';
export {
  type Linked,
  loadWorldModule,
  standAlone,
  WorldInstance,
  type WorldModule,
  worldModuleIn,
} from './instance.js';
export { type Cells, type Given, type GrowingMemory, TILE_BYTES, type WorldMemory } from './memory.js';
export { PLACES as CELL_PLACES } from './places.js';
export { STEP_ROWS } from './table-rows.js';
