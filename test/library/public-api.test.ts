import { readFileSync } from 'node:fs';
import ts from 'typescript';
import { describe, expect, it } from 'vitest';
import { type Exported, publicApiReport, REPORT, ROOT, readPublicApi } from './public-api.js';

describe('the public interface', () => {
  it('is the one of the report; where a change is meant, npm run generate writes it', () => {
    expect(publicApiReport(), 'the public types have changed: if that is meant, npm run generate').toBe(
      readFileSync(REPORT, 'utf8'),
    );
  });

  it('says of each function, class, interface and table what it is', () => {
    const { checker, exported } = readPublicApi();
    const silent = exported.filter(({ symbol }) => needsWords(symbol) && docOf(checker, symbol) === '');
    expect(silent.map(({ name }) => name)).toEqual([]);
  });

  it('says of each function and method that throws a StandoffError that it does', () => {
    const { exported } = readPublicApi();
    expect(exported.flatMap(untoldThrows)).toEqual([]);
  });
});

/** Constants of the generated table have their row, and types that only name others have those. */
function needsWords(symbol: ts.Symbol): boolean {
  const [declaration] = symbol.declarations ?? [];
  return declaration !== undefined && !declaration.getSourceFile().fileName.includes('/firmware/wire/');
}

const docOf = (checker: ts.TypeChecker, symbol: ts.Symbol): string =>
  ts.displayPartsToString(symbol.getDocumentationComment(checker)) +
  symbol
    .getJsDocTags(checker)
    .map((tag) => tag.name)
    .join();

/** Functions and methods of an exported thing whose source throws, but whose docstring does not say so. */
function untoldThrows({ name, symbol }: Exported): string[] {
  return (symbol.declarations ?? []).flatMap((declaration) => {
    const built = declaration.getSourceFile().fileName;
    const file = built.replace(`${ROOT}dist/`, ROOT).replace(/\.d\.ts$/, '.ts');
    if (!built.startsWith(`${ROOT}dist/`)) return [];
    const source = ts.createSourceFile(file, readFileSync(file, 'utf8'), ts.ScriptTarget.ES2022, true);
    return source.statements.flatMap((statement) => {
      if (ts.isFunctionDeclaration(statement) && statement.name?.text === symbol.name) {
        return throwsUntold(statement) ? [name] : [];
      }
      if (!ts.isClassDeclaration(statement) || statement.name?.text !== symbol.name) return [];
      return statement.members
        .filter((member) => (ts.getCombinedModifierFlags(member) & ts.ModifierFlags.Private) === 0)
        .filter(throwsUntold)
        .map((member) => `${name}.${member.name?.getText() ?? 'constructor'}`);
    });
  });
}

function throwsUntold(node: ts.Node): boolean {
  const told = ts.getJSDocTags(node).some((tag) => tag.tagName.text === 'throws');
  return !told && throwsItself(node);
}

function throwsItself(node: ts.Node): boolean {
  if (ts.isThrowStatement(node) && node.expression.getText().startsWith('new StandoffError')) return true;
  return ts.forEachChild(node, (child) => throwsItself(child) || undefined) ?? false;
}
