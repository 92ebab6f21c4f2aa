/** The part of the WebAssembly interface that is used here; TypeScript has it only together with the whole browser. */
declare namespace WebAssembly {
  class Module {
    constructor(bytes: Uint8Array<ArrayBuffer>);
  }
  class Instance {
    constructor(module: object, imports: Readonly<Record<string, Readonly<Record<string, unknown>>>>);
    readonly exports: Record<string, unknown>;
  }
  class Memory {
    constructor(pages: { readonly initial: number; readonly maximum: number });
    readonly buffer: ArrayBuffer;
    grow(pages: number): number;
  }
}
