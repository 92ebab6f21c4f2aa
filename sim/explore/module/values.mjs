// Where the marks of a value come from: the instructions that compute. Apart from ways.mjs, where a tick takes one way or another.
import binaryen from 'assemblyscript/binaryen';
import {
  argumentMark,
  binaryTraps,
  COMPARED,
  LINES,
  MARKS,
  OWN_BYTES,
  RESULT_MARK,
  STORED,
  unaryTraps,
} from './marks.mjs';

const { i32 } = binaryen;

/** The rules, by the id of the expression. */
export const VALUES = new Map([
  [binaryen.ConstId, ofNothing],
  [binaryen.NopId, ofNothing],
  [binaryen.LocalGetId, (t, expression, { index }) => t.marked(t.get(t.markOf(index)), expression)],
  [binaryen.LocalSetId, ofSet],
  [binaryen.LoadId, ofLoad],
  [binaryen.StoreId, ofStore],
  [binaryen.UnaryId, ofUnary],
  [binaryen.BinaryId, ofBinary],
  [binaryen.SelectId, ofSelect],
  [binaryen.DropId, ofDrop],
  [binaryen.CallId, ofCall],
]);

function ofNothing(_, expression) {
  return { code: expression, marks: [] };
}

function ofDrop(t, expression, { value }) {
  binaryen.Drop.setValue(expression, t.of(value).code);
  return { code: expression, marks: [] };
}

function ofSet(t, _, { index, isTee, value }) {
  const { module } = t;
  const type = binaryen.getExpressionType(value);
  const lines = module.i32.const(isLines(t, value) ? 1 : 0);
  const { code, kept, mark } = t.kept(value, type);
  const all = [
    ...[code, t.set(index, t.get(kept, type))],
    ...[t.set(t.markOf(index), t.get(mark)), t.set(t.holdsLines(index), lines)],
  ];
  if (!isTee) return { code: module.block(null, all), marks: [] };
  return { code: t.after(all, t.get(kept, type)), marks: [mark] };
}

/** The marks of other words would stand where something else does. */
function mustBeOwn(expression) {
  const address = addressOf(expression);
  if (address === undefined || address < OWN_BYTES) return;
  const text = binaryen.Expression.toText(expression);
  throw new Error(
    `the control module has memory above ${OWN_BYTES}, OWN_BYTES of marks.mjs: make that larger: ${text}`,
  );
}

/** Where the mark of an address stands. */
function placeOf({ module }, address, offset) {
  const at = module.i32.add(address, module.i32.const(offset));
  return module.i32.add(module.i32.and(at, module.i32.const(~3)), module.i32.const(MARKS));
}

function ofLoad(t, expression, { ptr, offset }) {
  const { module } = t;
  mustBeOwn(expression);
  const text = binaryen.Expression.toText(expression);
  const address = t.of(ptr);
  const [kept, mark] = [t.newLocal(), t.newLocal()];
  binaryen.Load.setPtr(expression, t.get(kept));
  const whole = module.i32.load(0, 4, placeOf(t, t.get(kept), offset));
  const code = [t.set(kept, address.code)];
  if (!t.forgets(text)) code.push(t.set(mark, module.i32.and(whole, module.i32.const(~STORED))));
  return { code: t.after(code, expression), marks: [mark, ...address.marks] };
}

/** A word has the marks of what was last put there; a part of a word leaves those of the rest. */
function ofStore(t, expression, { ptr, value, offset, bytes }) {
  const { module } = t;
  mustBeOwn(expression);
  const type = binaryen.getExpressionType(value);
  const [address, stored] = [t.of(ptr), t.of(value)];
  const [at, what] = [t.newLocal(), t.newLocal(type)];
  binaryen.Store.setPtr(expression, t.get(at));
  binaryen.Store.setValue(expression, t.get(what, type));
  const place = () => placeOf(t, t.get(at), offset);
  const mark = t.mark(stored.marks);
  const kept = bytes === 4 ? mark : module.i32.or(mark, module.i32.load(0, 4, place()));
  const all = module.i32.or(kept, module.i32.const(STORED));
  const code = [
    ...[t.set(at, address.code), t.set(what, stored.code)],
    // In another tick it may be another place.
    ...[...t.met(address.marks), expression, module.i32.store(0, 4, place(), all)],
  ];
  return { code: module.block(null, code), marks: [] };
}

function ofUnary(t, expression, { op, value }) {
  const { code, marks } = unaryTraps(op) ? t.metValue(value) : t.of(value);
  binaryen.Unary.setValue(expression, code);
  return { code: expression, marks };
}

function ofBinary(t, expression, { op, left, right }) {
  const { id, value: constant } = binaryen.getExpressionInfo(right);
  if (id === binaryen.ConstId) {
    if (op === binaryen.AndInt32 && mayBeLines(t, left)) return ofLine(t, expression, left, constant);
    const compares = op === binaryen.EqInt32 || op === binaryen.NeInt32;
    if (compares && addressOf(left) !== undefined) return ofComparison(t, expression, left, constant);
  }
  const parts = [left, right].map((part) => (binaryTraps(op) ? t.metValue(part) : t.of(part)));
  binaryen.Binary.setLeft(expression, parts[0].code);
  binaryen.Binary.setRight(expression, parts[1].code);
  return { code: expression, marks: parts.flatMap(({ marks }) => marks) };
}

/** What was not selected does not matter. */
function ofSelect(t, expression, { ifTrue, ifFalse, condition }) {
  const { module } = t;
  const [yes, no, asked] = [ifTrue, ifFalse, condition].map((part) => t.kept(part));
  const type = binaryen.getExpressionType(expression);
  binaryen.Select.setIfTrue(expression, t.get(yes.kept, type));
  binaryen.Select.setIfFalse(expression, t.get(no.kept, type));
  binaryen.Select.setCondition(expression, t.get(asked.kept));
  const chosen = module.select(t.get(asked.kept), t.get(yes.mark), t.get(no.mark));
  const mark = t.marked(module.i32.or(t.get(asked.mark), chosen), expression);
  return { code: t.after([yes.code, no.code, asked.code], mark.code), marks: mark.marks };
}

/** Some of the digital inputs: their marks alone. */
function ofLine(t, expression, left, bits) {
  const { module } = t;
  const value = t.of(left);
  const [kept, mark] = [t.newLocal(), t.newLocal()];
  const { id, index } = binaryen.getExpressionInfo(left);
  const held = id === binaryen.LocalGetId ? t.get(t.holdsLines(index)) : module.i32.const(1);
  const places = Array.from({ length: 32 }, (_, bit) => bit).filter((bit) => (bits >>> bit) & 1);
  const lines = places.map((bit) => module.i32.load(0, 4, module.i32.const(LINES + 4 * bit)));
  const all = lines.reduce((one, other) => module.i32.or(one, other), module.i32.const(0));
  const own = t.forgets(binaryen.Expression.toText(expression)) ? module.i32.const(0) : all;
  binaryen.Binary.setLeft(expression, value.code);
  const code = [t.set(kept, expression), t.set(mark, module.select(held, own, t.mark(value.marks)))];
  return { code: t.after(code, t.get(kept)), marks: [mark] };
}

function mayBeLines(t, expression) {
  const { id, isTee, value } = binaryen.getExpressionInfo(expression);
  return id === binaryen.LocalGetId || isLines(t, isTee ? value : expression);
}

/** A word compared with a constant: which of two values, not which value, matters as long as it is as it was. */
function ofComparison(t, expression, load, constant) {
  const { module } = t;
  const address = addressOf(load);
  const constants = t.compared.get(address) ?? new Set();
  t.compared.set(address, constants.add(constant));
  const mark = t.newLocal();
  const word = (base) => module.i32.load(0, 4, module.i32.const(base + address));
  const chosen = module.select(
    module.i32.lt_s(t.get(mark), module.i32.const(0)),
    module.i32.and(t.get(mark), module.i32.const(~STORED)),
    module.i32.xor(t.get(mark), word(COMPARED)),
  );
  return t.marked(module.block(null, [t.set(mark, word(MARKS)), chosen], i32), expression);
}

/** The place of a word at a place that is known now; undefined for anything else. */
function addressOf(expression) {
  const { id, bytes, ptr, offset } = binaryen.getExpressionInfo(expression);
  if ((id !== binaryen.LoadId && id !== binaryen.StoreId) || bytes !== 4) return undefined;
  const address = binaryen.getExpressionInfo(ptr);
  return address.id === binaryen.ConstId ? address.value + offset : undefined;
}

function isLines(t, expression) {
  return addressOf(expression) === t.lines;
}

function ofCall(t, _, { target, operands }) {
  const { module } = t;
  const types = operands.map((operand) => binaryen.getExpressionType(operand));
  const given = operands.map((operand) => t.kept(operand));
  const before = [
    ...given.map(({ code }) => code),
    ...given.map(({ mark }, at) => module.global.set(argumentMark(at), t.get(mark))),
  ];
  const result = binaryen.Function.getResults(module.getFunction(target));
  const values = given.map(({ kept }, at) => t.get(kept, types[at]));
  const call = module.call(target, values, result);
  if (result === binaryen.none) return { code: module.block(null, [...before, call]), marks: [] };
  const [kept, mark] = [t.newLocal(result), t.newLocal()];
  const all = [...before, t.set(kept, call), t.set(mark, module.global.get(RESULT_MARK, i32))];
  return { code: t.after(all, t.get(kept, result)), marks: [mark] };
}
