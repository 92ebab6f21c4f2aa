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

const { i32 } = binaryen;

/** Custom section with the SHA-256 of the module that this is a copy of. */
const SECTION = 'tracks';
// What stands where above the control module's own memory; the copy tells it by what it exports.
/** The mark of the word at address a stands at MARKS + a. */
const MARKS = 8192;
/** Marks of the bits of the word of digital inputs. */
const LINES = 12_288;
/** Marks of all conditions met; the number of those that had any that were new; these, in the order of the tick. */
const MET = 12_416;
const LISTED = MET + 4;
const LIST = MET + 8;
/** At COMPARED + a: what is otherwise in the mark of a word that is only compared with a constant and is as it was before. */
const COMPARED = 12_800;
/** Stands beside the mark of a word that was stored to. */
const STORED = 1 << 31;

/** Operations that trap on some values: whether they do is like a condition. */
const TRAPPING = new Set([
  ...[binaryen.TruncSFloat32ToInt32, binaryen.TruncUFloat32ToInt32].map((op) => `unary ${op}`),
  ...[binaryen.DivSInt32, binaryen.DivUInt32, binaryen.RemSInt32, binaryen.RemUInt32].map((op) => `binary ${op}`),
]);

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
    for (let at = 0; at < ARGUMENTS; at++) module.addGlobal(`mark ${at}`, i32, true, module.i32.const(0));
    module.addGlobal('mark', i32, true, module.i32.const(0));
    const compared = new Map();
    for (const name of names) new Tracked(module, name, lines, forgets, compared).write();
    for (const [name, place] of Object.entries({ marks: MARKS, line_marks: LINES, met: MET, compared: COMPARED })) {
      module.addFunction(name, binaryen.none, i32, [], module.i32.const(place));
      module.addFunctionExport(name, name);
    }
    module.addCustomSection(SECTION, createHash('sha256').update(bytes).digest());
    const list = [...compared].map(([address, constants]) => [address, [...constants]]);
    module.addCustomSection('compares', new TextEncoder().encode(JSON.stringify(list)));
    if (!module.validate()) throw new Error('the tracked module is not valid');
    binaryen.setOptimizeLevel(3);
    binaryen.setShrinkLevel(0);
    for (let round = 0; round < 3; round++) module.optimize();
    return new Uint8Array(module.emitBinary());
  } finally {
    module.dispose();
  }
}
/** Most arguments of a function. */
const ARGUMENTS = 16;

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

/** A function with the marks of all its values. An expression goes with the locals whose marks, together, are its own. */
class Tracked {
  constructor(module, name, lines, forgets, compared) {
    this.module = module;
    this.compared = compared;
    this.lines = lines;
    this.forgets = forgets;
    this.func = module.getFunction(name);
    this.params = binaryen.expandType(binaryen.Function.getParams(this.func));
    if (this.params.length > ARGUMENTS) throw new Error(`${name} has more arguments than there are marks`);
    /** Of each block that is left with a value the local for its mark. */
    this.labels = new Map();
    this.own = binaryen.Function.getNumLocals(this.func);
    // The mark of a local stands in a local of its own, and in another whether the local holds all digital inputs.
    for (let at = 0; at < 2 * this.own; at++) this.newLocal();
  }

  newLocal(type = i32) {
    binaryen._BinaryenFunctionAddVar(this.func, type);
    return binaryen.Function.getNumLocals(this.func) - 1;
  }

  write() {
    const { module, params, func } = this;
    const begin = params.map((_, at) => module.local.set(this.own + at, module.global.get(`mark ${at}`, i32)));
    const body = this.of(binaryen.Function.getBody(func));
    const result = binaryen.Function.getResults(func);
    if (result === binaryen.none) {
      binaryen.Function.setBody(func, module.block(null, [...begin, body.code]));
      return;
    }
    const [value, mark] = [this.newLocal(result), this.mark(body.marks)];
    const end =
      binaryen.getExpressionType(body.code) === binaryen.unreachable
        ? [body.code]
        : [module.local.set(value, body.code), module.global.set('mark', mark), module.local.get(value, result)];
    binaryen.Function.setBody(func, module.block(null, [...begin, ...end], result));
  }

  /** The marks of some locals, together. */
  mark(locals) {
    const { module } = this;
    const [first, ...rest] = [...new Set(locals)].map((local) => module.local.get(local, i32));
    return rest.reduce((one, other) => module.i32.or(one, other), first ?? module.i32.const(0));
  }

  /** An expression that leaves its value, and before that runs some code. */
  after(code, value) {
    return this.module.block(null, [...code, value], binaryen.getExpressionType(value));
  }

  /** Before `value`, which has no effect on it, a mark is put into a local of its own. */
  marked(mark, value) {
    const local = this.newLocal();
    return { code: this.after([this.module.local.set(local, mark)], value), marks: [local] };
  }

  /** A value that is computed, then what has become of its mark. */
  kept(value, type, marks, code) {
    const [kept, mark, { module }] = [this.newLocal(type), this.newLocal(), this];
    const all = [module.local.set(kept, value), module.local.set(mark, this.mark(marks)), ...code(kept, mark)];
    return { code: module.block(null, all), kept, mark };
  }

  /** A condition that decides what the tick does. */
  met(marks) {
    if (marks.length === 0) return [];
    const { module } = this;
    const mark = this.newLocal();
    const met = module.i32.load(0, 4, module.i32.const(MET));
    const fresh = module.i32.and(this.mark(marks), module.i32.xor(met, module.i32.const(-1)));
    return [
      module.if(module.local.tee(mark, fresh, i32), module.call('note', [module.local.get(mark, i32)], binaryen.none)),
    ];
  }

  /** The same as a condition met, of a value that is used on. */
  met_value({ code, marks }) {
    if (marks.length === 0) return code;
    const { module } = this;
    const type = binaryen.getExpressionType(code);
    const kept = this.newLocal(type);
    return this.after([module.local.set(kept, code), ...this.met(marks)], module.local.get(kept, type));
  }

  /** @returns {{ code: number, marks: number[] }} */
  of(expression) {
    const { module } = this;
    const info = binaryen.getExpressionInfo(expression);
    switch (info.id) {
      case binaryen.ConstId:
      case binaryen.NopId:
      case binaryen.UnreachableId:
        return { code: expression, marks: [] };
      case binaryen.LocalGetId:
        return this.marked(module.local.get(this.own + info.index, i32), expression);
      case binaryen.LocalSetId:
        return this.ofSet(info);
      case binaryen.LoadId:
        return this.ofLoad(expression, info);
      case binaryen.StoreId:
        return this.ofStore(expression, info);
      case binaryen.UnaryId: {
        if (info.op === binaryen.EqZInt32 && this.addressOf(info.value) !== undefined)
          return this.ofComparison(expression, info.value, 0);
        const value = this.of(info.value);
        const code = TRAPPING.has(`unary ${info.op}`) ? this.met_value(value) : value.code;
        binaryen.Unary.setValue(expression, code);
        return { code: expression, marks: value.marks };
      }
      case binaryen.BinaryId:
        return this.ofBinary(expression, info);
      case binaryen.SelectId:
        return this.ofSelect(expression, info);
      case binaryen.DropId: {
        binaryen.Drop.setValue(expression, this.of(info.value).code);
        return { code: expression, marks: [] };
      }
      case binaryen.IfId:
        return this.ofIf(expression, info);
      case binaryen.BlockId:
      case binaryen.LoopId:
        return this.ofBlock(expression, info);
      case binaryen.BreakId:
        if (info.value) return this.ofBreak(info);
        if (info.condition) binaryen.Break.setCondition(expression, this.met_value(this.of(info.condition)));
        return { code: expression, marks: [] };
      case binaryen.SwitchId:
        if (info.value) throw new Error('a switch with a value');
        binaryen.Switch.setCondition(expression, this.met_value(this.of(info.condition)));
        return { code: expression, marks: [] };
      case binaryen.ReturnId: {
        if (!info.value) return { code: expression, marks: [] };
        const type = binaryen.getExpressionType(info.value);
        const value = this.of(info.value);
        const { code, kept, mark } = this.kept(value.code, type, value.marks, () => []);
        const marked = module.global.set('mark', module.local.get(mark, i32));
        return { code: module.block(null, [code, marked, module.return(module.local.get(kept, type))]), marks: [] };
      }
      case binaryen.CallId:
        return this.ofCall(info);
      default:
        throw new Error(
          `the control module has an instruction that is not tracked: ${binaryen.Expression.toText(expression)}`,
        );
    }
  }

  ofSet({ index, isTee, value }) {
    const { module, own } = this;
    const type = binaryen.getExpressionType(value);
    const lines = module.i32.const(this.isLines(value) ? 1 : 0);
    const { code, marks } = this.of(value);
    const set = this.kept(code, type, marks, (kept, mark) => [
      module.local.set(index, module.local.get(kept, type)),
      module.local.set(own + index, module.local.get(mark, i32)),
      module.local.set(2 * own + index, lines),
    ]);
    if (!isTee) return { code: set.code, marks: [] };
    return { code: this.after([set.code], module.local.get(set.kept, type)), marks: [set.mark] };
  }

  /** Where the mark of an address stands. */
  place(address, offset) {
    const { module } = this;
    const at = module.i32.add(address, module.i32.const(offset));
    return module.i32.add(module.i32.and(at, module.i32.const(~3)), module.i32.const(MARKS));
  }

  ofLoad(expression, { ptr, offset }) {
    const { module } = this;
    const text = binaryen.Expression.toText(expression);
    const address = this.of(ptr);
    const kept = this.newLocal();
    binaryen.Load.setPtr(expression, module.local.get(kept, i32));
    const whole = module.i32.load(0, 4, this.place(module.local.get(kept, i32), offset));
    const mark = module.i32.and(whole, module.i32.const(~STORED));
    const local = this.newLocal();
    const code = [module.local.set(kept, address.code)];
    if (!this.forgets(text)) code.push(module.local.set(local, mark));
    return { code: this.after(code, expression), marks: [local, ...address.marks] };
  }

  /** A word has the marks of what was last put there; a part of a word leaves those of the rest. */
  ofStore(expression, { ptr, value, offset, bytes }) {
    const { module } = this;
    const type = binaryen.getExpressionType(value);
    const [address, stored] = [this.of(ptr), this.of(value)];
    const [at, what] = [this.newLocal(), this.newLocal(type)];
    binaryen.Store.setPtr(expression, module.local.get(at, i32));
    binaryen.Store.setValue(expression, module.local.get(what, type));
    const place = () => this.place(module.local.get(at, i32), offset);
    const mark = this.mark(stored.marks);
    const kept = bytes === 4 ? mark : module.i32.or(mark, module.i32.load(0, 4, place()));
    const all = module.i32.or(kept, module.i32.const(STORED));
    const code = [
      ...[module.local.set(at, address.code), module.local.set(what, stored.code)],
      // In another tick it may be another place.
      ...[...this.met(address.marks), expression, module.i32.store(0, 4, place(), all)],
    ];
    return { code: module.block(null, code), marks: [] };
  }

  ofBinary(expression, { op, left, right }) {
    const { id, value: bits } = binaryen.getExpressionInfo(right);
    if (op === binaryen.AndInt32 && id === binaryen.ConstId && this.mayBeLines(left))
      return this.ofLine(expression, left, bits);
    if (
      (op === binaryen.EqInt32 || op === binaryen.NeInt32) &&
      id === binaryen.ConstId &&
      this.addressOf(left) !== undefined
    )
      return this.ofComparison(expression, left, bits);
    if (op === binaryen.AndInt32) return this.ofEither(expression, left, right, 0);
    if (op === binaryen.OrInt32 && isTruth(left) && isTruth(right)) return this.ofEither(expression, left, right, 1);
    const parts = [this.of(left), this.of(right)];
    const traps = TRAPPING.has(`binary ${op}`);
    binaryen.Binary.setLeft(expression, traps ? this.met_value(parts[0]) : parts[0].code);
    binaryen.Binary.setRight(expression, traps ? this.met_value(parts[1]) : parts[1].code);
    return { code: expression, marks: parts.flatMap(({ marks }) => marks) };
  }

  /** Where the one value that decides is on one side, it is enough: whatever the other is, it changes nothing. */
  ofEither(expression, left, right, deciding) {
    const { module } = this;
    const get = (local) => module.local.get(local, i32);
    const [one, other] = [left, right].map((part) => {
      const { code, marks } = this.of(part);
      return this.kept(code, i32, marks, () => []);
    });
    const mark = this.newLocal();
    const is = (local) => (deciding === 0 ? module.i32.eqz(get(local)) : get(local));
    const both = module.i32.or(get(one.mark), get(other.mark));
    const chosen = module.select(is(one.kept), get(one.mark), module.select(is(other.kept), get(other.mark), both));
    binaryen.Binary.setLeft(expression, get(one.kept));
    binaryen.Binary.setRight(expression, get(other.kept));
    return { code: this.after([one.code, other.code, module.local.set(mark, chosen)], expression), marks: [mark] };
  }

  /** What was not selected does not matter. */
  ofSelect(expression, { ifTrue, ifFalse, condition }) {
    const { module } = this;
    const type = binaryen.getExpressionType(expression);
    const [yes, no] = [ifTrue, ifFalse].map((way) => {
      const { code, marks } = this.of(way);
      return this.kept(code, type, marks, () => []);
    });
    const asked = this.of(condition);
    const { code, kept, mark } = this.kept(asked.code, i32, asked.marks, () => []);
    const get = (local, of = i32) => module.local.get(local, of);
    const local = this.newLocal();
    const chosen = module.i32.or(get(mark), module.select(get(kept), get(yes.mark), get(no.mark)));
    binaryen.Select.setIfTrue(expression, get(yes.kept, type));
    binaryen.Select.setIfFalse(expression, get(no.kept, type));
    binaryen.Select.setCondition(expression, get(kept));
    return { code: this.after([yes.code, no.code, code, module.local.set(local, chosen)], expression), marks: [local] };
  }

  /** Some of the digital inputs: their marks alone. */
  ofLine(expression, left, bits) {
    const { module } = this;
    const value = this.of(left);
    const mark = this.newLocal();
    const { id, index } = binaryen.getExpressionInfo(left);
    const held = id === binaryen.LocalGetId ? module.local.get(2 * this.own + index, i32) : module.i32.const(1);
    const places = Array.from({ length: 32 }, (_, bit) => bit).filter((bit) => (bits >>> bit) & 1);
    const lines = places.map((bit) => module.i32.load(0, 4, module.i32.const(LINES + 4 * bit)));
    const all = lines.reduce((one, other) => module.i32.or(one, other), module.i32.const(0));
    const own = this.forgets(binaryen.Expression.toText(expression)) ? module.i32.const(0) : all;
    binaryen.Binary.setLeft(expression, value.code);
    const set = module.local.set(mark, module.select(held, own, this.mark(value.marks)));
    const kept = this.newLocal();
    const code = [module.local.set(kept, expression), set];
    return { code: this.after(code, module.local.get(kept, i32)), marks: [mark] };
  }

  mayBeLines(expression) {
    const { id, isTee, value } = binaryen.getExpressionInfo(expression);
    return id === binaryen.LocalGetId || this.isLines(isTee ? value : expression);
  }

  /** A word compared with a constant: which of two values, not which value, matters as long as it is as it was. */
  ofComparison(expression, load, constant) {
    const { module } = this;
    const address = this.addressOf(load);
    const constants = this.compared.get(address) ?? new Set();
    this.compared.set(address, constants.add(constant));
    const mark = this.newLocal();
    const word = (base) => module.i32.load(0, 4, module.i32.const(base + address));
    const whole = module.local.get(mark, i32);
    const chosen = module.select(
      module.i32.lt_s(whole, module.i32.const(0)),
      module.i32.and(module.local.get(mark, i32), module.i32.const(~STORED)),
      module.i32.xor(module.local.get(mark, i32), word(COMPARED)),
    );
    return this.marked(module.block(null, [module.local.set(mark, word(MARKS)), chosen], i32), expression);
  }

  /** The place of a word at a place that is known now; undefined for anything else. */
  addressOf(expression) {
    const load = binaryen.getExpressionInfo(expression);
    if (load.id !== binaryen.LoadId || load.bytes !== 4) return undefined;
    const address = binaryen.getExpressionInfo(load.ptr);
    return address.id === binaryen.ConstId ? address.value + load.offset : undefined;
  }

  isLines(expression) {
    return this.addressOf(expression) === this.lines;
  }

  ofIf(expression, { condition, ifTrue, ifFalse }) {
    const { module } = this;
    const type = binaryen.getExpressionType(expression);
    const sets = { locals: new Set(), words: new Set() };
    const plain = [ifTrue, ifFalse].every((way) => !way || onlySets(way, sets));
    const asked = this.of(condition);
    const ways = [ifTrue, ifFalse].map((way) => (way ? this.of(way) : undefined));
    const { code, kept, mark } = this.kept(asked.code, i32, asked.marks, () => (plain ? [] : this.met(asked.marks)));
    const result = this.newLocal();
    const valued = type !== binaryen.none && type !== binaryen.unreachable;
    const wayOf = (way) => {
      if (!valued || binaryen.getExpressionType(way.code) === binaryen.unreachable) return way.code;
      const own = binaryen.getExpressionType(way.code);
      const value = this.newLocal(own);
      return module.block(
        null,
        [
          module.local.set(value, way.code),
          module.local.set(result, this.mark(way.marks)),
          module.local.get(value, own),
        ],
        own,
      );
    };
    binaryen.If.setCondition(expression, module.local.get(kept, i32));
    binaryen.If.setIfTrue(expression, wayOf(ways[0]));
    if (ways[1]) binaryen.If.setIfFalse(expression, wayOf(ways[1]));
    const add = (to) => module.i32.or(to, module.local.get(mark, i32));
    const joined =
      !plain || asked.marks.length === 0
        ? []
        : [
            ...[...sets.locals].flatMap((local) => [
              module.local.set(this.own + local, add(module.local.get(this.own + local, i32))),
              module.local.set(2 * this.own + local, module.i32.const(0)),
            ]),
            ...[...sets.words].map((word) => {
              const place = () => module.i32.const(MARKS + (word & ~3));
              const before = () => module.i32.load(0, 4, place());
              // What a word is stored to by its own value counts as stored to.
              const own = module.i32.and(before(), module.local.get(mark, i32));
              const stored = module.select(own, module.i32.const(STORED), module.i32.const(0));
              return module.i32.store(0, 4, place(), module.i32.or(add(before()), stored));
            }),
          ];
    if (!valued) return { code: module.block(null, [code, expression, ...joined]), marks: [] };
    const value = this.newLocal(type);
    const all = [code, module.local.set(value, expression), ...joined];
    return { code: this.after(all, module.local.get(value, type)), marks: [result, mark] };
  }

  ofBlock(expression, info) {
    if (info.id === binaryen.LoopId) {
      const body = this.of(info.body);
      binaryen.Loop.setBody(expression, body.code);
      return { code: expression, marks: body.marks };
    }
    // Whoever leaves the block with a value leaves its mark here.
    const left = this.newLocal();
    if (info.name) this.labels.set(info.name, left);
    info.children.forEach((child, at) => {
      const type = binaryen.getExpressionType(child);
      const { code, marks } = this.of(child);
      if (type === binaryen.none || type === binaryen.unreachable) {
        binaryen.Block.setChildAt(expression, at, code);
        return;
      }
      const value = this.newLocal(type);
      const kept = [this.module.local.set(value, code), this.module.local.set(left, this.mark(marks))];
      binaryen.Block.setChildAt(expression, at, this.after(kept, this.module.local.get(value, type)));
    });
    return { code: expression, marks: [left] };
  }

  ofBreak({ name, condition, value }) {
    const { module } = this;
    const type = binaryen.getExpressionType(value);
    const { code, marks } = this.of(value);
    const carried = this.kept(code, type, marks, (_, mark) => [
      module.local.set(this.labels.get(name), module.local.get(mark, i32)),
    ]);
    const asked = condition ? this.met_value(this.of(condition)) : undefined;
    const leave = module.br(name, asked, module.local.get(carried.kept, type));
    return { code: this.after([carried.code], leave), marks: [carried.mark] };
  }

  ofCall({ target, operands }) {
    const { module } = this;
    const given = operands.map((operand) => {
      const type = binaryen.getExpressionType(operand);
      const { code, marks } = this.of(operand);
      const local = this.newLocal(type);
      return { set: module.local.set(local, code), get: module.local.get(local, type), mark: this.mark(marks) };
    });
    const before = [
      ...given.map(({ set }) => set),
      ...given.map(({ mark }, at) => module.global.set(`mark ${at}`, mark)),
    ];
    const result = binaryen.Function.getResults(module.getFunction(target));
    const call = module.call(
      target,
      given.map(({ get }) => get),
      result,
    );
    if (result === binaryen.none) return { code: module.block(null, [...before, call]), marks: [] };
    const { code, kept, mark } = this.kept(call, result, [], (_, own) => [
      module.local.set(own, module.global.get('mark', i32)),
    ]);
    return { code: this.after([...before, code], module.local.get(kept, result)), marks: [mark] };
  }
}

const COMPARING = new Set(
  ['EqInt32', 'NeInt32', 'LtSInt32', 'LtUInt32', 'LeSInt32', 'LeUInt32', 'GtSInt32', 'GtUInt32', 'GeSInt32', 'GeUInt32']
    .concat(['EqFloat32', 'NeFloat32', 'LtFloat32', 'LeFloat32', 'GtFloat32', 'GeFloat32'])
    .map((name) => binaryen[name]),
);

/** Whether a value is 0 or 1 whatever happens. */
function isTruth(expression) {
  const info = binaryen.getExpressionInfo(expression);
  switch (info.id) {
    case binaryen.ConstId:
      return info.value === 0 || info.value === 1;
    case binaryen.UnaryId:
      return info.op === binaryen.EqZInt32;
    case binaryen.BinaryId:
      if (COMPARING.has(info.op)) return true;
      if (info.op === binaryen.AndInt32) return isTruth(info.left) || isTruth(info.right);
      return (
        (info.op === binaryen.OrInt32 || info.op === binaryen.XorInt32) && isTruth(info.left) && isTruth(info.right)
      );
    case binaryen.SelectId:
      return isTruth(info.ifTrue) && isTruth(info.ifFalse);
    case binaryen.IfId:
      return isTruth(info.ifTrue) && info.ifFalse !== 0 && isTruth(info.ifFalse);
    default:
      return false;
  }
}

/** Whether code does nothing but set locals and words at known places; these are added to `sets`. */
function onlySets(expression, sets) {
  const info = binaryen.getExpressionInfo(expression);
  const all = (...parts) => parts.every((part) => !part || onlySets(part, sets));
  switch (info.id) {
    case binaryen.ConstId:
    case binaryen.NopId:
    case binaryen.LocalGetId:
      return true;
    case binaryen.LocalSetId:
      sets.locals.add(info.index);
      return all(info.value);
    case binaryen.LoadId:
      return all(info.ptr);
    case binaryen.StoreId: {
      const address = binaryen.getExpressionInfo(info.ptr);
      if (address.id !== binaryen.ConstId) return false;
      sets.words.add(address.value + info.offset);
      return all(info.value);
    }
    case binaryen.UnaryId:
      return !TRAPPING.has(`unary ${info.op}`) && all(info.value);
    case binaryen.BinaryId:
      return !TRAPPING.has(`binary ${info.op}`) && all(info.left, info.right);
    case binaryen.SelectId:
      return all(info.ifTrue, info.ifFalse, info.condition);
    case binaryen.DropId:
      return all(info.value);
    case binaryen.IfId:
      return all(info.condition, info.ifTrue, info.ifFalse);
    case binaryen.BlockId:
      return all(...info.children);
    default:
      return false;
  }
}

const [, script, from, to] = process.argv;
if (script !== undefined && import.meta.url === pathToFileURL(script).href) {
  const bytes = readFileSync(from);
  const { input } = new WebAssembly.Instance(new WebAssembly.Module(bytes), {}).exports;
  const layout = readFileSync(new URL('../../../firmware/wire/layout.gen.ts', import.meta.url), 'utf8');
  writeFileSync(to, tracked(bytes, input() + Number(/\bINPUT_DIGITAL = (\d+);/.exec(layout)[1])));
}
