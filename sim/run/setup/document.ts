import { isAlias, isMap, isScalar, isSeq, LineCounter, type Node, parseDocument, type YAMLMap } from 'yaml';
import type { FileCode } from '../../base/index.js';
import { placeText, StandoffError } from '../../base/index.js';

/** What kind of file is being read; starts the codes of its errors (`setup-empty`) and names it in words. */
export type FileKind = 'setup' | 'scenario';

/** Path of a value inside a file: `['world', 'faults', 0, 'kind']`. */
export type Path = readonly (string | number)[];

/** What the parser of the format finds wrong, in our words; the rest is just no YAML. */
const YAML_WORDS: Readonly<Record<string, readonly [what: string, remedy: string]>> = {
  BAD_INDENT: [
    'the indentation does not fit, or a bracket before it is not closed',
    'indent by two spaces for each level',
  ],
  MISSING_CHAR: ['a colon, a bracket or a quote is missing', 'look at this line and the one before it'],
  BLOCK_AS_IMPLICIT_KEY: ['two names in one line', 'write one key: value a line'],
  BLOCK_IN_FLOW: ['an indented block inside braces', 'close the braces, or write all of it indented'],
  MULTILINE_IMPLICIT_KEY: ['a name without its colon', 'write key: value'],
  UNEXPECTED_TOKEN: ['a character that does not belong here', 'look for a bracket or a quote too many'],
  BAD_SCALAR_START: ['a character that no value begins with', 'put the value into quotes, or take it out'],
  BAD_DQ_ESCAPE: ['a backslash in double quotes', 'use single quotes, or write it twice'],
  MULTIPLE_DOCS: ['a second document begins here', 'take the line --- out'],
};

/** A YAML file as plain values, with the place of each key and value. */
export class SourceDocument {
  /** Maps, lists, texts, numbers, booleans and nulls. */
  readonly value: unknown;
  private readonly counter = new LineCounter();
  private readonly values = new Map<string, Node>();
  private readonly keys = new Map<string, Node>();

  /**
   * @throws StandoffError for a text that is empty, no text at all or no YAML, for a key that stands twice, and
   *   for aliases, which nothing here needs.
   */
  constructor(
    readonly text: string,
    readonly file: string,
    readonly kind: FileKind,
  ) {
    this.refuseBinary();
    const root = this.parse();
    this.value = this.plain(root, []);
  }

  /** `setup.yaml:4:14` of the value at a path, or of the nearest thing around it. */
  place(path: Path): string {
    for (let length = path.length; length >= 0; length--) {
      const key = pathKey(path.slice(0, length));
      const node = this.values.get(key) ?? this.keys.get(key);
      if (node?.range) return this.placeAt(node.range[0]);
    }
    return this.placeAt(0);
  }

  keyPlace(path: Path): string {
    const node = this.keys.get(pathKey(path));
    return node?.range ? this.placeAt(node.range[0]) : this.place(path);
  }

  /** Offset of a key or value in the text; -1 when the file does not have it. */
  offset(path: Path): number {
    const key = pathKey(path);
    return (this.keys.get(key) ?? this.values.get(key))?.range?.[0] ?? -1;
  }

  /** The text of a value as it stands in the file, short enough for a message. */
  quote(path: Path): string {
    const range = this.values.get(pathKey(path))?.range;
    return range ? shortText(this.text.slice(range[0], range[1])) : 'nothing';
  }

  fail(code: FileCode, place: string, what: string, remedy: string): never {
    throw new StandoffError(`${this.kind}-${code}`, `${place}: ${what}`, remedy);
  }

  private placeAt(offset: number): string {
    const { line, col } = this.counter.linePos(offset);
    return placeText({ file: this.file, line: Math.max(1, line), column: Math.max(1, col) });
  }

  private refuseBinary(): void {
    // biome-ignore lint/suspicious/noControlCharactersInRegex: control bytes are what tells a binary file
    const found = /[\x00-\x08\x0b\x0c\x0e-\x1f\x7f\ufffd]/.exec(this.text);
    if (!found) return;
    const before = this.text.slice(0, found.index);
    const line = before.split('\n').length;
    const place = placeText({ file: this.file, line, column: found.index - before.lastIndexOf('\n') });
    this.fail('binary', place, 'this is no text file', `give a ${this.kind} file: YAML, in UTF-8`);
  }

  private parse(): Node {
    const { text, counter } = this;
    let document: ReturnType<typeof parseDocument>;
    try {
      document = parseDocument(text, { lineCounter: counter, prettyErrors: false });
    } catch (error) {
      // The parser gives up by an exception where it runs out of stack.
      this.fail('yaml', this.file, `cannot be read as YAML (${String(error)})`, 'look for brackets that never close');
    }
    const problem = document.errors[0] ?? document.warnings[0];
    if (problem?.message.includes('call stack')) {
      this.fail('yaml', this.placeAt(problem.pos[0]), 'brackets nest too deep', 'look for brackets that never close');
    }
    if (problem) this.failYaml(problem.code, problem.pos[0]);
    const root = document.contents as Node | null;
    if (root === null || (isScalar(root) && root.value === null)) {
      const remedy = this.kind === 'setup' ? 'leave --setup out to use the example' : 'give a stored run';
      this.fail('empty', this.file, `the ${this.kind} file is empty`, remedy);
    }
    return root;
  }

  private failYaml(code: string, offset: number): never {
    const place = this.placeAt(offset);
    const word = shortText(this.text.slice(offset).split(/[:\n]/)[0]);
    if (code === 'DUPLICATE_KEY') this.fail('key-twice', place, `the key ${word} stands twice`, 'take one of them out');
    if (code === 'TAB_AS_INDENT') this.fail('tab', place, 'a tab cannot indent', 'use spaces, two for each level');
    this.fail(
      'yaml',
      place,
      ...(YAML_WORDS[code] ?? ['this is not YAML', 'check indentation, colons, brackets and quotes']),
    );
  }

  private plain(node: Node | null, path: Path): unknown {
    if (node === null) return null;
    this.values.set(pathKey(path), node);
    if (isMap(node)) return this.plainMap(node, path);
    if (isSeq(node)) return node.items.map((item, index) => this.plain(item as Node | null, [...path, index]));
    if (isAlias(node)) this.fail('alias', this.place(path), 'an alias (*) is not read here', 'write the value itself');
    return isScalar(node) ? node.value : null;
  }

  private plainMap(map: YAMLMap, path: Path): unknown {
    const entries = map.items.map((pair): [string, unknown] => {
      const key = pair.key as Node | null;
      if (!isScalar(key))
        this.fail('key', this.place(path), 'a key here is not a plain word', 'give each value one word');
      const name = String(key.value);
      this.keys.set(pathKey([...path, name]), key);
      return [name, this.plain(pair.value as Node | null, [...path, name])];
    });
    return Object.fromEntries(entries);
  }
}

const pathKey = (path: Path): string => path.join('\0');

/** One line of at most 40 characters. */
export function shortText(text: string): string {
  const line = text.trim().split(/\r?\n/)[0].trim();
  const short = line.length > 40 ? `${line.slice(0, 39)}…` : line;
  return short === '' ? 'nothing' : short;
}
