export type { Controller, ControllerOutput } from './controller.js';
export { type ControlModule, type LinkedController, loadControlModule, WasmController } from './wasm.js';
