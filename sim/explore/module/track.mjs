// Makes, from a control module, the same module with a record of what a tick depends on: `node track.mjs from.wasm to.wasm`.
// The exploration runs it instead of the module itself, and skips what a tick has not looked at.
//
// Each word of the control module's memory has a mark: a bit for each direction of the exploration that its value comes
// from. Marks go with the values: from operands to results, through locals, memory, arguments. What a tick does, not only
// what it computes, goes by the conditions that it meets: their marks are collected, in the order in which they are met. A
// condition between two ways that only set locals and words at known places is not one of these: it marks what either way
// sets. A result that has some marks in a tick is the same in every tick that differs only in directions without a mark.
import { createHash } from 'node:crypto';
import { readFileSync, writeFileSync } from 'node:fs';
import { pathToFileURL } from 'node:url';
import binaryen from 'assemblyscript/binaryen';
import { ARGUMENTS, argumentMark, COMPARED, LINES, LIST, LISTED, MARKS, Marked, MET, RESULT_MARK } from './marks.mjs';
import { VALUES } from './values.mjs';
import { WAYS } from './ways.mjs';

const { i32 } = binaryen;

/** Custom section with the SHA-256 of the module that this is a copy of; with the constants that words are compared with. */
const SECTION = 'tracks';
const COMPARES = 'compares';

/**
 * The tracked copy of a control module.
 * @param {Uint8Array} bytes the module
 * @param {number} lines address of the word of digital inputs, in which each bit has a mark of its own
 * @param {(text: string) => boolean} forgets for a test: loads, as text, whose marks are left out
 * @returns {Uint8Array<ArrayBuffer>}
 * @throws Error where the module has an instruction that no control module has had so far
 */
export function tracked(bytes, lines, forgets = () => false) {
  const module = binaryen.readBinary(bytes);
  try {
    const names = Array.from({ length: module.getNumFunctions() }, (_, at) =>
      binaryen.Function.getName(module.getFunctionByIndex(at)),
    );
    addNote(module);
    const globals = [RESULT_MARK, ...Array.from({ length: ARGUMENTS }, (_, at) => argumentMark(at))];
    for (const name of globals) module.addGlobal(name, i32, true, module.i32.const(0));
    const compared = new Map();
    const rules = new Map([...VALUES, ...WAYS]);
    for (const name of names) new Marked(module, name, { lines, forgets, compared, rules }).write();
    for (const [name, place] of Object.entries({ marks: MARKS, line_marks: LINES, met: MET, compared: COMPARED })) {
      module.addFunction(name, binaryen.none, i32, [], module.i32.const(place));
      module.addFunctionExport(name, name);
    }
    module.addCustomSection(SECTION, createHash('sha256').update(bytes).digest());
    const list = [...compared].map(([address, constants]) => [address, [...constants]]);
    module.addCustomSection(COMPARES, new TextEncoder().encode(JSON.stringify(list)));
    if (!module.validate()) throw new Error('the tracked module is not valid');
    binaryen.setOptimizeLevel(3);
    binaryen.setShrinkLevel(0);
    for (let round = 0; round < 3; round++) module.optimize();
    return new Uint8Array(module.emitBinary());
  } finally {
    module.dispose();
  }
}

/** `note(mark)`: a condition with this mark was met. */
function addNote(module) {
  const word = (address) => module.i32.load(0, 4, module.i32.const(address));
  const put = (address, value) => module.i32.store(0, 4, address, value);
  const place = module.i32.add(module.i32.const(LIST), module.i32.shl(word(LISTED), module.i32.const(2)));
  const body = [
    put(place, module.local.get(0, i32)),
    put(module.i32.const(LISTED), module.i32.add(word(LISTED), module.i32.const(1))),
    put(module.i32.const(MET), module.i32.or(word(MET), module.local.get(0, i32))),
  ];
  module.addFunction('note', i32, binaryen.none, [], module.block(null, body));
}

const [, script, from, to] = process.argv;
if (script !== undefined && import.meta.url === pathToFileURL(script).href) {
  const bytes = readFileSync(from);
  const { input } = new WebAssembly.Instance(new WebAssembly.Module(bytes), {}).exports;
  const layout = readFileSync(new URL('../../../firmware/wire/layout.gen.ts', import.meta.url), 'utf8');
  writeFileSync(to, tracked(bytes, input() + Number(/\bINPUT_DIGITAL = (\d+);/.exec(layout)[1])));
}
