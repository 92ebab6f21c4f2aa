// A function of a control module with the marks of all its values; apart from track.mjs, because both kinds of rules
// (values.mjs, ways.mjs) write with it.
import binaryen from 'assemblyscript/binaryen';

const { i32 } = binaryen;

// What stands where above the control module's own memory; the copy tells it by what it exports.
/** The control module's own memory ends below; each of the two that follow has a word for each of it. */
export const OWN_BYTES = 8192;
/** The mark of the word at address a stands at MARKS + a. */
export const MARKS = OWN_BYTES;
/** Marks of the bits of the word of digital inputs. */
export const LINES = MARKS + OWN_BYTES;
/** Marks of all conditions met; the number of those that had any that were new; these, in the order of the tick. */
export const MET = LINES + 128;
export const LISTED = MET + 4;
export const LIST = MET + 8;
/** At COMPARED + a: what is otherwise in the mark of a word that is only compared with a constant and is as it was before. */
export const COMPARED = MET + 512;
/** Stands beside the mark of a word that was stored to. */
export const STORED = 1 << 31;

/** Operations that trap on some values: whether they do is like a condition. */
const TRAPPING = new Set([
  ...[binaryen.TruncSFloat32ToInt32, binaryen.TruncUFloat32ToInt32].map((op) => `unary ${op}`),
  ...[binaryen.DivSInt32, binaryen.DivUInt32, binaryen.RemSInt32, binaryen.RemUInt32].map((op) => `binary ${op}`),
]);
export const unaryTraps = (op) => TRAPPING.has(`unary ${op}`);
export const binaryTraps = (op) => TRAPPING.has(`binary ${op}`);

/** Most arguments of a function. */
export const ARGUMENTS = 16;
/** Global with the mark of an argument, of what a function returns. */
export const argumentMark = (at) => `mark ${at}`;
export const RESULT_MARK = 'mark';

/** The function. An expression goes with the locals whose marks, together, are its own: `{ code, marks }`. */
export class Marked {
  /**
   * @param lines address of the word of digital inputs
   * @param forgets see `tracked`
   * @param compared for each word that is compared with constants: these
   * @param rules what becomes of an expression, by its id: `(marked, expression, info) => ({ code, marks })`
   */
  constructor(module, name, { lines, forgets, compared, rules }) {
    Object.assign(this, { module, lines, forgets, compared, rules });
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

  get(local, type = i32) {
    return this.module.local.get(local, type);
  }

  set(local, value) {
    return this.module.local.set(local, value);
  }

  markOf(local) {
    return this.own + local;
  }

  holdsLines(local) {
    return 2 * this.own + local;
  }

  write() {
    const { module, params, func } = this;
    const begin = params.map((_, at) => this.set(this.markOf(at), module.global.get(argumentMark(at), i32)));
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
        : [this.set(value, body.code), module.global.set(RESULT_MARK, mark), this.get(value, result)];
    binaryen.Function.setBody(func, module.block(null, [...begin, ...end], result));
  }

  of(expression) {
    const info = binaryen.getExpressionInfo(expression);
    const rule = this.rules.get(info.id);
    if (rule !== undefined) return rule(this, expression, info);
    throw new Error(
      `the control module has an instruction that is not tracked: ${binaryen.Expression.toText(expression)}`,
    );
  }

  /** The marks of some locals, together. */
  mark(locals) {
    const { module } = this;
    const [first, ...rest] = [...new Set(locals)].map((local) => this.get(local));
    return rest.reduce((one, other) => module.i32.or(one, other), first ?? module.i32.const(0));
  }

  /** An expression that leaves its value, and before that runs some code. */
  after(code, value) {
    return this.module.block(null, [...code, value], binaryen.getExpressionType(value));
  }

  /** Before `value`, which has no effect on it, a mark is put into a local of its own. */
  marked(mark, value) {
    const local = this.newLocal();
    return { code: this.after([this.set(local, mark)], value), marks: [local] };
  }

  /** An expression whose value and mark stand in locals of their own when `code` has run. */
  kept(expression, type = binaryen.getExpressionType(expression)) {
    return this.keptValue(this.of(expression), type);
  }

  keptValue({ code, marks }, type) {
    const [kept, mark] = [this.newLocal(type), this.newLocal()];
    return { code: this.module.block(null, [this.set(kept, code), this.set(mark, this.mark(marks))]), kept, mark };
  }

  /** A condition that decides what the tick does. */
  met(marks) {
    if (marks.length === 0) return [];
    const { module } = this;
    const mark = this.newLocal();
    const met = module.i32.load(0, 4, module.i32.const(MET));
    const fresh = module.i32.and(this.mark(marks), module.i32.xor(met, module.i32.const(-1)));
    return [module.if(module.local.tee(mark, fresh, i32), module.call('note', [this.get(mark)], binaryen.none))];
  }

  /** The same of an expression whose value is used on. */
  metValue(expression) {
    const { code, marks } = this.of(expression);
    if (marks.length === 0) return { code, marks };
    const type = binaryen.getExpressionType(code);
    const kept = this.newLocal(type);
    return { code: this.after([this.set(kept, code), ...this.met(marks)], this.get(kept, type)), marks };
  }
}
