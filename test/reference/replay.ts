import { spawnSync } from 'node:child_process';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import binaryen from 'assemblyscript/binaryen';
import { PARAMETER_COUNT } from '../../firmware/wire/codes.gen.js';
import { INPUT_BYTES, OUTPUT_BYTES } from '../../firmware/wire/layout.gen.js';
import { type ControlModule, WasmController } from '../../sim/run/controller/index.js';

/** One hash for this many ticks. */
export const CHUNK_TICKS = 100;
const PAGE = 65_536;
const FNV_BASIS = 0x811c9dc5 | 0;
const FNV_PRIME = 0x01000193;

/** What went into the module from power-up on, and a hash of what came out. */
export interface Recording {
  readonly module: ControlModule;
  readonly parameters: Float32Array;
  /** Input blocks, one after the other. */
  readonly inputs: Uint8Array;
  /** Of outputs and state, after every hundred ticks, going on from one to the next. */
  readonly hashes: readonly number[];
}

/** The module in this process, with a record of every tick. */
export class RecordingController extends WasmController {
  private readonly module: ControlModule;
  private readonly chunks: Uint8Array[] = [];
  private readonly hashes: number[] = [];
  private hash = FNV_BASIS;

  constructor(module: ControlModule) {
    super(module);
    this.module = module;
  }

  override tick(): void {
    this.chunks.push(this.inputs.slice());
    super.tick();
    for (const word of this.output.integers) this.add(word);
    const state = this.state();
    for (const word of new Int32Array(state.buffer, state.byteOffset, state.byteLength / 4)) this.add(word);
    if (this.chunks.length % CHUNK_TICKS === 0) this.hashes.push(this.hash);
  }

  /** What was recorded, in whole hundreds of ticks. */
  recording(): Recording {
    const inputs = new Uint8Array(this.hashes.length * CHUNK_TICKS * INPUT_BYTES);
    for (const [index, chunk] of this.chunks.slice(0, this.hashes.length * CHUNK_TICKS).entries()) {
      inputs.set(chunk, index * INPUT_BYTES);
    }
    const parameters = Float32Array.from({ length: PARAMETER_COUNT }, (_, id) => this.parameter(id));
    return { module: this.module, parameters, inputs, hashes: this.hashes };
  }

  /** FNV-1a (Fowler, Noll, Vo), by 32-bit words. */
  private add(word: number): void {
    this.hash = Math.imul(this.hash ^ word, FNV_PRIME);
  }
}

/**
 * The module's own code with a driver that holds the recorded inputs: `ticks_N`, called in order, runs the next
 * hundred ticks and returns the hash. Without imports and arguments, so that any engine can run it.
 */
export function replayModule({ module, parameters, inputs, hashes }: Recording): Uint8Array<ArrayBuffer> {
  const parsed = binaryen.readBinary(module.bytes);
  const text = parsed.emitText();
  parsed.dispose();
  const parameters_at = PAGE;
  const inputs_at = parameters_at + parameters.byteLength;
  const pages = Math.ceil((inputs_at + inputs.byteLength) / PAGE);
  const code = text
    .trimEnd()
    .slice(0, -1)
    .replace(/\(memory (\$\S+) 1 \d+\)/, `(memory $1 ${pages} ${pages})`)
    .replace(/^ \(export .*\)$/gm, '');
  const whole = `${code}
    (data (i32.const ${parameters_at}) "${escaped(new Uint8Array(parameters.buffer))}")
    (data (i32.const ${inputs_at}) "${escaped(inputs)}")
    ${driver(text, parameters_at, inputs_at)}
    (export "begin" (func $begin))
    ${hashes.map((_, n) => `(export "ticks_${n}" (func $chunk))`).join('\n')})`;
  const merged = binaryen.parseText(whole);
  if (!merged.validate()) throw new Error('the replay module does not validate');
  const bytes = Uint8Array.from(merged.emitBinary());
  merged.dispose();
  return bytes;
}

function driver(text: string, parameters_at: number, inputs_at: number): string {
  const of = (name: string) => {
    const found = new RegExp(`\\(export "${name}" \\(func (\\S+)\\)\\)`).exec(text);
    if (found === null) throw new Error(`the module exports no ${name}`);
    return found[1];
  };
  const copy = Array.from({ length: INPUT_BYTES / 8 }, (_, word) => 8 * word)
    .map((at) => `(i64.store offset=${at} (call ${of('input')}) (i64.load offset=${at} (global.get $next)))`)
    .join('\n');
  return `
    (global $next (mut i32) (i32.const ${inputs_at}))
    (global $hash (mut i32) (i32.const ${FNV_BASIS}))
    (func $begin (result i32) (local $id i32) (local $refused i32)
      (call ${of('load_defaults')})
      (loop $more
        (local.set $refused (i32.add (local.get $refused) (call ${of('set_parameter')} (local.get $id)
          (f32.load (i32.add (i32.const ${parameters_at}) (i32.shl (local.get $id) (i32.const 2)))))))
        (local.set $id (i32.add (local.get $id) (i32.const 1)))
        (br_if $more (i32.lt_u (local.get $id) (i32.const ${PARAMETER_COUNT}))))
      (local.get $refused))
    (func $add (param $at i32) (param $end i32)
      (loop $more
        (global.set $hash (i32.mul (i32.xor (global.get $hash) (i32.load (local.get $at))) (i32.const ${FNV_PRIME})))
        (local.set $at (i32.add (local.get $at) (i32.const 4)))
        (br_if $more (i32.lt_u (local.get $at) (local.get $end)))))
    (func $chunk (result i32) (local $left i32)
      (local.set $left (i32.const ${CHUNK_TICKS}))
      (loop $more
        ${copy}
        (global.set $next (i32.add (global.get $next) (i32.const ${INPUT_BYTES})))
        (call ${of('tick')})
        (call $add (call ${of('output')}) (i32.add (call ${of('output')}) (i32.const ${OUTPUT_BYTES})))
        (call $add (call ${of('state')}) (i32.add (call ${of('state')}) (call ${of('state_bytes')})))
        (local.set $left (i32.sub (local.get $left) (i32.const 1)))
        (br_if $more (local.get $left)))
      (global.get $hash))`;
}

const escaped = (bytes: Uint8Array) => Array.from(bytes, (byte) => `\\${byte.toString(16).padStart(2, '0')}`).join('');

/** Runs a replay module in this engine. @returns how many parameters were refused, then the hashes. */
export function replayHere(bytes: Uint8Array<ArrayBuffer>): number[] {
  const { exports } = new WebAssembly.Instance(new WebAssembly.Module(bytes), {});
  return Object.values(exports).map((run) => (run as () => number)());
}

/** The same in wabt's interpreter, which prints `name() => i32:value` for each export in its order. */
export function replayInterpreted(wasm_interp: string, bytes: Uint8Array): number[] {
  const folder = mkdtempSync(join(tmpdir(), 'standoff-replay-'));
  try {
    const file = join(folder, 'replay.wasm');
    writeFileSync(file, bytes);
    const { status, stdout, stderr } = spawnSync(wasm_interp, [file, '--run-all-exports'], { encoding: 'utf8' });
    if (status !== 0) throw new Error(`wasm-interp ended with ${status}: ${stderr}`);
    return Array.from(stdout.matchAll(/=> i32:(\d+)/g), (found) => Number(found[1]) | 0);
  } finally {
    rmSync(folder, { recursive: true });
  }
}
