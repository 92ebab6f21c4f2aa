export type { Controller, ControllerOutput } from './controller.js';
export {
  builtFile,
  type ControlModule,
  controlModule,
  type LinkedModule,
  loadControlModule,
  WasmController,
} from './wasm.js';
