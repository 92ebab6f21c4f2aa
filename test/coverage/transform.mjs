// Transform for the AssemblyScript compiler: puts a counter before every statement and on every branch of the
// control module. Branches are both ways of an `if` and of a selection, each case of a `switch`, and the right-hand
// side of && and ||. Counters stand in linear memory far above the module's own data, so that a module with
// counters has the same exports and the same state region as one without.
import { writeFileSync } from 'node:fs';
import { Node, NodeKind, Token } from 'assemblyscript';
import { Transform } from 'assemblyscript/transform';

/** Where the counters begin: the upper half of the one page. */
export const COUNTERS_AT = 32_768;
const PREFIX = 'firmware/control/';

/** @type {{ file: string, line: number, kind: 'statement' | 'branch', what: string }[]} */
const probes = [];
let source;

function counter(range, kind, what) {
  const id = probes.length;
  probes.push({ file: `${source.normalizedPath}`, line: source.lineAt(range.start), kind, what });
  const call = (name, args) =>
    Node.createCallExpression(
      Node.createIdentifierExpression(name, range),
      [Node.createNamedType(Node.createSimpleTypeName('u32', range), null, false, range)],
      args,
      range,
    );
  const number = (value) => Node.createIntegerLiteralExpression(i64_new(value, 0), range);
  const next = Node.createBinaryExpression(Token.Plus, call('load', [number(COUNTERS_AT + 4 * id)]), number(1), range);
  return call('store', [number(COUNTERS_AT + 4 * id), next]);
}

const text = (range) => source.text.substring(range.start, range.end).split('\n')[0].trim();

/** The expression with a counter before it. */
function counted(expression, what) {
  const { range } = expression;
  const hit = counter(range, 'branch', what);
  return Node.createParenthesizedExpression(Node.createCommaExpression([hit, expression], range), range);
}

/** Counts inside an expression; returns the expression to put in its place. */
function visit(node) {
  if (node === null || node === undefined) return node;
  switch (node.kind) {
    case NodeKind.Binary:
      node.left = visit(node.left);
      node.right = visit(node.right);
      if (node.operator === Token.Ampersand_Ampersand) node.right = counted(node.right, `&& ${text(node.right.range)}`);
      if (node.operator === Token.Bar_Bar) node.right = counted(node.right, `|| ${text(node.right.range)}`);
      return node;
    case NodeKind.Ternary:
      node.condition = visit(node.condition);
      node.ifThen = counted(visit(node.ifThen), `? ${text(node.ifThen.range)}`);
      node.ifElse = counted(visit(node.ifElse), `: ${text(node.ifElse.range)}`);
      return node;
    case NodeKind.Call:
      for (let i = 0; i < node.args.length; i++) node.args[i] = visit(node.args[i]);
      return node;
    case NodeKind.Parenthesized:
    case NodeKind.Assertion:
      node.expression = visit(node.expression);
      return node;
    case NodeKind.UnaryPrefix:
    case NodeKind.UnaryPostfix:
      node.operand = visit(node.operand);
      return node;
    case NodeKind.Identifier:
    case NodeKind.PropertyAccess:
    case NodeKind.Literal:
    case NodeKind.True:
    case NodeKind.False:
      return node;
    default:
      throw new Error(`${source.normalizedPath}: the coverage transform does not know node kind ${node.kind}`);
  }
}

function block(statement, range, what) {
  const inside = statement === null ? [] : statement.kind === NodeKind.Block ? statement.statements : [statement];
  const hit = Node.createExpressionStatement(counter(range, 'branch', what));
  return Node.createBlockStatement([hit, ...statements(inside)], range);
}

/** Statements with a counter before each. */
function statements(list) {
  return list.flatMap((each) => {
    if (each.kind === NodeKind.Block) return [Node.createBlockStatement(statements(each.statements), each.range)];
    const hit = Node.createExpressionStatement(counter(each.range, 'statement', text(each.range)));
    inside(each);
    return [hit, each];
  });
}

function inside(node) {
  switch (node.kind) {
    case NodeKind.If: {
      const what = text(node.condition.range);
      node.condition = visit(node.condition);
      node.ifTrue = block(node.ifTrue, node.range, `if (${what})`);
      node.ifFalse = block(node.ifFalse, node.range, `else of if (${what})`);
      return;
    }
    case NodeKind.Switch: {
      node.condition = visit(node.condition);
      for (const each of node.cases) {
        // A label that shares the body of the next one is counted there.
        if (each.statements.length === 0) continue;
        const what = each.label === null ? 'default' : `case ${text(each.label.range)}`;
        const hit = Node.createExpressionStatement(counter(each.range, 'branch', what));
        each.statements = [hit, ...statements(each.statements)];
      }
      if (!node.cases.some((each) => each.label === null)) {
        throw new Error(`${source.normalizedPath}:${source.lineAt(node.range.start)}: a switch without a default`);
      }
      return;
    }
    case NodeKind.For:
      node.condition = visit(node.condition);
      node.body = block(node.body, node.range, 'body of for');
      return;
    case NodeKind.Return:
      node.value = visit(node.value);
      return;
    case NodeKind.Expression:
      node.expression = visit(node.expression);
      return;
    case NodeKind.Variable:
      for (const each of node.declarations) each.initializer = visit(each.initializer);
      return;
    case NodeKind.Break:
      return;
    default:
      throw new Error(`${source.normalizedPath}: the coverage transform does not know statement kind ${node.kind}`);
  }
}

export default class CoverageTransform extends Transform {
  afterParse(parser) {
    for (const each of parser.sources) {
      if (!each.normalizedPath.startsWith(PREFIX) || each.normalizedPath.endsWith('.gen.ts')) continue;
      source = each;
      for (const statement of each.statements) {
        if (statement.kind !== NodeKind.FunctionDeclaration || statement.body === null) continue;
        const { body } = statement;
        const list = body.kind === NodeKind.Block ? body.statements : [body];
        statement.body = Node.createBlockStatement(statements(list), body.range);
      }
    }
    if (COUNTERS_AT + 4 * probes.length > 65_536) throw new Error('more counters than memory');
    const file = process.env.STANDOFF_COVERAGE_MAP;
    if (file === undefined) throw new Error('STANDOFF_COVERAGE_MAP names the file for the map of counters');
    writeFileSync(file, JSON.stringify({ counters_at: COUNTERS_AT, probes }));
  }
}
