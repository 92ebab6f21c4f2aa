import ts from 'typescript';
import { packageFile } from '../../sim/base/package/files.js';

export const ROOT = packageFile('./');
export const REPORT = `${ROOT}test/library/public-api.gen.md`;
const ENTRY = `${ROOT}dist/sim/index.d.ts`;

const HEAD = `<!-- Generated from the built declarations by \`npm run generate\`. Do not edit. -->

# The public types

What \`import … from 'standoff'\` gives, as the compiler sees it: a change here is a change for whoever uses the package.
`;

/** One thing that the package exports. */
export interface Exported {
  /** With its namespace: `link.Session`. */
  readonly name: string;
  readonly symbol: ts.Symbol;
}

interface PublicApi {
  readonly checker: ts.TypeChecker;
  readonly exported: readonly Exported[];
}

let read: PublicApi | undefined;

/** The declarations as built, and what their entry exports, namespaces opened, by name. @throws when the package is not built */
export function readPublicApi(): PublicApi {
  read ??= readOnce();
  return read;
}

function readOnce(): PublicApi {
  const program = ts.createProgram([ENTRY], {
    module: ts.ModuleKind.NodeNext,
    moduleResolution: ts.ModuleResolutionKind.NodeNext,
    target: ts.ScriptTarget.ES2022,
    lib: ['lib.es2023.d.ts'],
    types: ['node'],
    strict: true,
    skipLibCheck: true,
    noEmit: true,
  });
  const checker = program.getTypeChecker();
  const entry = program.getSourceFile(ENTRY);
  if (entry === undefined) throw new Error(`${ENTRY} is missing: build first, npm run build`);
  return { checker, exported: opened(checker, checker.getSymbolAtLocation(entry)!, '') };
}

function opened(checker: ts.TypeChecker, module: ts.Symbol, prefix: string): Exported[] {
  const found = checker.getExportsOfModule(module).flatMap((one): Exported[] => {
    const symbol = one.flags & ts.SymbolFlags.Alias ? checker.getAliasedSymbol(one) : one;
    const name = `${prefix}${one.name}`;
    return symbol.flags & ts.SymbolFlags.ValueModule ? opened(checker, symbol, `${name}.`) : [{ name, symbol }];
  });
  return found.sort((a, b) => (a.name < b.name ? -1 : 1));
}

/** The report as it stands beside this file. @throws when the package is not built */
export function publicApiReport(): string {
  const { checker, exported } = readPublicApi();
  const areas = new Map<string, string[]>();
  for (const one of exported) {
    const at = one.name.lastIndexOf('.');
    const area = at < 0 ? 'standoff' : one.name.slice(0, at);
    if (!areas.has(area)) areas.set(area, []);
    areas.get(area)!.push(...declared(checker, one).map(inOrder));
  }
  const sections = [...areas].map(([area, lines]) => `## ${area}\n\n\`\`\`ts\n${lines.join('\n')}\n\`\`\`\n`);
  return [HEAD, ...sections].join('\n');
}

/**
 * The members of an inferred enum, and the words of an inferred choice, come in the order in which the compiler met
 * them, which depends on other files and on what an earlier build left.
 */
const inOrder = (text: string): string =>
  text
    .replace(
      /(ZodEnum<\{\n)([^}]*\n)(\s*\}>)/g,
      (_, head: string, members: string, tail: string) =>
        `${head}${members.trimEnd().split('\n').sort().join('\n')}\n${tail}`,
    )
    .replace(/"[^"\n]*"(?: \| "[^"\n]*")+/g, (words) => words.split(' | ').sort().join(' | '));

const printer = ts.createPrinter({ removeComments: true });

function declared(checker: ts.TypeChecker, { name, symbol }: Exported): string[] {
  const own = name.slice(name.lastIndexOf('.') + 1);
  return (symbol.declarations ?? []).map((declaration) => {
    if (ts.isTypeAliasDeclaration(declaration) && declaration.typeParameters === undefined) {
      const type = checker.getDeclaredTypeOfSymbol(symbol);
      const members = type.isUnion() ? type.types.map((each) => textOf(checker, each)).sort() : [textOf(checker, type)];
      return members.length > 4
        ? `type ${own} =\n  | ${members.join('\n  | ')};`
        : `type ${own} = ${members.join(' | ')};`;
    }
    if (ts.isVariableDeclaration(declaration)) {
      const printed = printer.printNode(ts.EmitHint.Unspecified, declaration, declaration.getSourceFile());
      return `const ${inLines(printed.replace(/ = "(?:[^"\\]|\\.){100,}"/, ': string'))};`;
    }
    const printed = printer.printNode(ts.EmitHint.Unspecified, declaration, declaration.getSourceFile());
    return printed
      .split('\n')
      .filter((line) => !/^\s*private /.test(line))
      .join('\n')
      .replace(/^export (?:declare )?/, '')
      .replace(`${symbol.name} `, `${own} `);
  });
}

/** A type in full. */
function textOf(checker: ts.TypeChecker, type: ts.Type): string {
  const flags = ts.TypeFormatFlags.NoTruncation | ts.TypeFormatFlags.InTypeAlias;
  return inLines(checker.typeToString(type, undefined, flags));
}

/** Short enough to be compared line by line. */
const inLines = (text: string): string =>
  text.length > 200 ? text.replaceAll(/(?:; |\], )/g, (end) => `${end.trim()}\n  `) : text;
