// Where a tick takes one way or another: the instructions with a condition, and where their ways meet again.
import binaryen from 'assemblyscript/binaryen';
import { binaryTraps, MARKS, RESULT_MARK, STORED, unaryTraps } from './marks.mjs';

/** The rules, by the id of the expression. */
export const WAYS = new Map([
  [binaryen.UnreachableId, (_, expression) => ({ code: expression, marks: [] })],
  [binaryen.IfId, ofIf],
  [binaryen.BlockId, ofBlock],
  [binaryen.LoopId, ofLoop],
  [binaryen.BreakId, ofBreak],
  [binaryen.SwitchId, ofSwitch],
  [binaryen.ReturnId, ofReturn],
]);

const isValue = (type) => type !== binaryen.none && type !== binaryen.unreachable;

/** A part of an expression that leaves a value leaves its mark in the local `result`. */
function leaving(t, part, result) {
  const { code, marks } = t.of(part);
  const type = binaryen.getExpressionType(code);
  if (!isValue(type)) return code;
  const value = t.newLocal(type);
  return t.after([t.set(value, code), t.set(result, t.mark(marks))], t.get(value, type));
}

function ofIf(t, expression, { condition, ifTrue, ifFalse }) {
  const sets = { locals: new Set(), words: new Set() };
  const plain = [ifTrue, ifFalse].every((way) => !way || onlySets(way, sets));
  const type = binaryen.getExpressionType(expression);
  const { code: asked, marks } = t.of(condition);
  const { code, kept, mark } = t.keptValue({ code: asked, marks }, binaryen.getExpressionType(condition));
  const result = t.newLocal();
  binaryen.If.setCondition(expression, t.get(kept));
  binaryen.If.setIfTrue(expression, leaving(t, ifTrue, result));
  if (ifFalse) binaryen.If.setIfFalse(expression, leaving(t, ifFalse, result));
  const before = [code, ...(plain ? [] : t.met(marks))];
  const joined = plain && marks.length > 0 ? markSets(t, sets, mark) : [];
  if (!isValue(type)) return { code: t.module.block(null, [...before, expression, ...joined]), marks: [] };
  const value = t.newLocal(type);
  return { code: t.after([...before, t.set(value, expression), ...joined], t.get(value, type)), marks: [result, mark] };
}

/** What either way sets gets the mark of the condition. */
function markSets(t, { locals, words }, mark) {
  const { module } = t;
  const add = (to) => module.i32.or(to, t.get(mark));
  const of_locals = [...locals].flatMap((local) => [
    t.set(t.markOf(local), add(t.get(t.markOf(local)))),
    t.set(t.holdsLines(local), module.i32.const(0)),
  ]);
  const of_words = [...words].map((word) => {
    const place = () => module.i32.const(MARKS + (word & ~3));
    const before = () => module.i32.load(0, 4, place());
    // What a word is stored to by its own value counts as stored to.
    const own = module.i32.and(before(), t.get(mark));
    const stored = module.select(own, module.i32.const(STORED), module.i32.const(0));
    return module.i32.store(0, 4, place(), module.i32.or(add(before()), stored));
  });
  return [...of_locals, ...of_words];
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
      return !unaryTraps(info.op) && all(info.value);
    case binaryen.BinaryId:
      return !binaryTraps(info.op) && all(info.left, info.right);
    case binaryen.DropId:
      return all(info.value);
    case binaryen.SelectId:
    case binaryen.IfId:
      return all(info.ifTrue, info.ifFalse, info.condition);
    case binaryen.BlockId:
      return all(...info.children);
    default:
      return false;
  }
}

/** Whoever leaves the block with a value leaves its mark in a local. */
function ofBlock(t, expression, { name, children }) {
  const left = t.newLocal();
  if (name) t.labels.set(name, left);
  children.forEach((child, at) => {
    binaryen.Block.setChildAt(expression, at, leaving(t, child, left));
  });
  return { code: expression, marks: [left] };
}

function ofLoop(t, expression, info) {
  const { code, marks } = t.of(info.body);
  binaryen.Loop.setBody(expression, code);
  return { code: expression, marks };
}

function ofBreak(t, expression, { name, condition, value }) {
  if (!value) {
    if (condition) binaryen.Break.setCondition(expression, t.metValue(condition).code);
    return { code: expression, marks: [] };
  }
  const { code, kept, mark } = t.kept(value);
  const asked = condition ? t.metValue(condition).code : undefined;
  const leave = t.module.br(name, asked, t.get(kept, binaryen.getExpressionType(value)));
  return { code: t.after([code, t.set(t.labels.get(name), t.get(mark))], leave), marks: [mark] };
}

function ofSwitch(t, expression, { condition, value }) {
  if (value) throw new Error('a switch with a value');
  binaryen.Switch.setCondition(expression, t.metValue(condition).code);
  return { code: expression, marks: [] };
}

function ofReturn(t, expression, { value }) {
  if (!value) return { code: expression, marks: [] };
  const { module } = t;
  const { code, kept, mark } = t.kept(value);
  const type = binaryen.getExpressionType(value);
  const marked = module.global.set(RESULT_MARK, t.get(mark));
  return { code: module.block(null, [code, marked, module.return(t.get(kept, type))]), marks: [] };
}
