/** Types of module-code.mjs, for its tests. */
export function moduleCode(wasm: string, folder: string): void;
