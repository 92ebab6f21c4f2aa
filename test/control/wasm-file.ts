/** What the gates need to know of a WebAssembly binary. Section layout: WebAssembly core specification 1.0, 5.5. */
export interface WasmFile {
  readonly imports: number;
  readonly exports: readonly { readonly name: string; readonly kind: 'function' | 'memory' | 'other' }[];
  readonly mutable_globals: number;
  readonly memories: readonly { readonly initial: number; readonly maximum: number | undefined }[];
  readonly data_end: number;
  readonly has_start: boolean;
}

const KINDS = ['function', 'other', 'memory', 'other'] as const;

/** @throws Error when the bytes are no WebAssembly 1.0 module. */
export function readWasm(bytes: Uint8Array): WasmFile {
  const file = {
    imports: 0,
    exports: [] as WasmFile['exports'][number][],
    mutable_globals: 0,
    memories: [] as WasmFile['memories'][number][],
    data_end: 0,
    has_start: false,
  };
  if (bytes[0] !== 0 || bytes[1] !== 0x61 || bytes[2] !== 0x73 || bytes[3] !== 0x6d) throw new Error('no wasm');
  let at = 8;
  const leb = (): number => {
    let value = 0;
    for (let shift = 0; ; shift += 7) {
      const byte = bytes[at++];
      value += (byte & 0x7f) * 2 ** shift;
      if (byte < 0x80) return value;
    }
  };
  const vector = (each: () => void): void => {
    for (let left = leb(); left > 0; left--) each();
  };
  /** The address of a data segment or the value of a global: one constant and its end. */
  const constant = (): number => {
    const opcode = bytes[at++];
    const sizes: Readonly<Record<number, number>> = { 67: 4, 68: 8 };
    let value = 0;
    if (sizes[opcode] === undefined) value = leb();
    else at += sizes[opcode];
    if (bytes[at++] !== 0x0b) throw new Error('not a constant');
    return value;
  };
  const limits = () => {
    const bounded = bytes[at++] === 1;
    const initial = leb();
    file.memories.push({ initial, maximum: bounded ? leb() : undefined });
  };
  while (at < bytes.length) {
    const section = bytes[at++];
    const end = leb() + at;
    if (section === 2) file.imports = leb();
    else if (section === 5) vector(limits);
    else if (section === 6) {
      vector(() => {
        at++;
        if (bytes[at++] === 1) file.mutable_globals++;
        constant();
      });
    } else if (section === 7) {
      vector(() => {
        const length = leb();
        const name = new TextDecoder().decode(bytes.subarray(at, at + length));
        at += length;
        file.exports.push({ name, kind: KINDS[bytes[at++]] ?? 'other' });
        leb();
      });
    } else if (section === 8) file.has_start = true;
    else if (section === 11) {
      vector(() => {
        if (leb() !== 0) throw new Error('a data segment that is not active in memory 0');
        const address = constant();
        const length = leb();
        at += length;
        file.data_end = Math.max(file.data_end, address + length);
      });
    }
    at = end;
  }
  return file;
}
