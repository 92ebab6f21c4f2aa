export type { Controller, ControllerOutput } from './controller.js';
export {
  type ControlModule,
  controlModule,
  type LinkedModule,
  loadControlModule,
  WasmController,
} from './wasm.js';
