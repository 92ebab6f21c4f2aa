export type { Controller, ControllerOutput } from './controller.js';
export { type ControlModule, loadControlModule, WasmController } from './wasm.js';
