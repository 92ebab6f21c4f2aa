/** What a key asks the live view to do. */
export type Command = 'pause' | 'step' | 'step-ten' | 'faster' | 'slower' | 'quit' | 'interrupt';

/** Byte sequences of the keys that mean something; arrows in both cursor key modes of ECMA-48 terminals. */
const SEQUENCES: readonly (readonly [string, Command])[] = [
  ['\x1b[C', 'step-ten'],
  ['\x1bOC', 'step-ten'],
  ['\x03', 'interrupt'],
  [' ', 'pause'],
  ['p', 'pause'],
  ['s', 'step'],
  ['S', 'step'],
  ['+', 'faster'],
  ['=', 'faster'],
  ['-', 'slower'],
  ['q', 'quit'],
  ['Q', 'quit'],
];
/** Any other escape sequence: swallowed whole, so that its letters are not taken for keys. */
// biome-ignore lint/suspicious/noControlCharactersInRegex: escape sequences begin with one
const OTHER_ESCAPE = /^\x1b(?:\[[0-9;?]*[ -/]*[@-~]|O[A-Z]|.)?/s;

/** Commands in the bytes that one read from a terminal gave, in their order; unknown keys are left out. */
export function commandsIn(bytes: string): Command[] {
  const commands: Command[] = [];
  while (bytes !== '') {
    const known = SEQUENCES.find(([sequence]) => bytes.startsWith(sequence));
    if (known) commands.push(known[1]);
    const length = known?.[0].length ?? OTHER_ESCAPE.exec(bytes)?.[0].length ?? 1;
    bytes = bytes.slice(length);
  }
  return commands;
}
