export type { Controller, ControllerOutput } from './controller.js';
export { type ControlModule, controlModule, loadControlModule, WasmController } from './wasm.js';
