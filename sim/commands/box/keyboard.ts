/** What is needed of an input stream; process.stdin has it. */
export interface KeyInput {
  readonly isTTY?: boolean;
  setRawMode?(raw: boolean): unknown;
  resume(): unknown;
  pause(): unknown;
  on(event: 'data', listener: (chunk: Buffer | string) => void): unknown;
  off(event: 'data', listener: (chunk: Buffer | string) => void): unknown;
}

/** Arrow keys and their like come as several characters, none of which is a key of its own. */
// biome-ignore lint/suspicious/noControlCharactersInRegex: escape sequences begin with one
const ESCAPES = /\x1b(?:\[[0-9;?]*[ -/]*[@-~]|O[A-Z]|.)?/g;

/**
 * Single keys, without Enter on a terminal; on a pipe each character is one.
 * @returns gives the terminal back as it was
 */
export function listenToKeys(input: KeyInput, press: (key: string) => void): () => void {
  const onData = (chunk: Buffer | string) => {
    for (const key of chunk.toString().replace(ESCAPES, '')) press(key);
  };
  if (input.isTTY) input.setRawMode?.(true);
  input.on('data', onData);
  input.resume();
  return () => {
    input.off('data', onData);
    if (input.isTTY) input.setRawMode?.(false);
    input.pause();
  };
}
