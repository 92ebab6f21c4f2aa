/** The second half of the codes of a file that is read: a setup or a stored run. */
export type FileCode =
  | 'alias'
  | 'binary'
  | 'empty'
  | 'key'
  | 'key-missing'
  | 'key-twice'
  | 'key-unknown'
  | 'range'
  | 'tab'
  | 'type'
  | 'unit'
  | 'word'
  | 'yaml';

/** The second half of the codes of a number with its unit. */
type QuantityCode = 'range' | 'type' | 'unit';

/**
 * Every error code by its first word, which says what was wrong or what was asked for: `setup-range`, `port-busy`. Codes are
 * an interface: a code is never renamed nor used for anything else.
 */
interface CodeFamilies {
  answer: 'choice' | 'yes-no';
  board: 'silent';
  /** The names of the rows of STATUS_ROWS, and what is found out about a box. */
  box:
    | 'board'
    | 'busy'
    | 'checksum'
    | 'contradiction'
    | 'desk'
    | 'flash'
    | 'format'
    | 'id'
    | 'in-loader'
    | 'hash'
    | 'incomplete'
    | 'key'
    | 'length'
    | 'lockstep'
    | 'not-begun'
    | 'nothing-staged'
    | 'parameter'
    | 'other-host'
    | 'place'
    | 'range'
    | 'speed'
    | 'starting'
    | 'too-long'
    | 'unknown'
    | 'version'
    | 'unknown-status'
    | 'values'
    | 'voltage'
    | 'wired';
  calibration: 'close' | 'few' | 'gain' | 'polarity' | 'range-end' | 'residual' | 'sign' | 'zero';
  campaign: 'damaged' | 'format' | 'gap' | 'mixed' | 'none' | 'overlap' | 'requirements' | 'unfinished' | 'version';
  divider: 'none';
  emulator: 'missing';
  fault: 'kind' | 'time' | 'value';
  file: 'exists' | 'folder' | 'large' | 'missing' | 'refused' | 'unreadable' | 'unwritable';
  flash: 'broken' | 'busy' | 'hash' | 'no-loader' | 'not-started' | 'size' | 'stopped';
  folder: 'empty' | 'missing' | 'none' | 'unwritable';
  image:
    | 'board'
    | 'body'
    | 'format'
    | 'head'
    | 'long'
    | 'magic'
    | 'missing'
    | 'sha'
    | 'short'
    | 'size'
    | 'tail'
    | 'truncated'
    | 'uf2';
  link: 'lost' | 'silent';
  map: 'contradiction' | 'elsewhere' | 'range' | 'same' | 'unknown';
  module: 'build' | 'format' | 'missing';
  motion: 'limit' | 'option';
  network: 'singular';
  no: 'terminal';
  operator: 'line';
  option: 'date' | 'unknown' | QuantityCode;
  output: 'input' | 'name' | 'twice';
  pair: 'form';
  pairs: 'cells' | 'empty' | 'head' | 'none';
  parameter: 'range' | 'refused' | 'unknown';
  parameters: 'refused';
  path: 'unknown';
  port: 'address' | 'busy' | 'closed' | 'failed' | 'missing' | 'none' | 'refused' | 'speed' | 'taken';
  program:
    | 'arc-centre'
    | 'arc-radii'
    | 'arc-radius'
    | 'binary'
    | 'character'
    | 'comment'
    | 'cuts-nothing'
    | 'dwell'
    | 'empty'
    | 'feed'
    | 'feed-missing'
    | 'line-number'
    | 'line-too-long'
    | 'motion-missing'
    | 'number-missing'
    | 'off-sheet'
    | 'range'
    | 'truncated'
    | 'word-repeated'
    | 'word-unknown'
    | 'word-without-use'
    | 'words-contradict';
  range: 'contradiction' | 'form' | 'limit' | 'order' | 'twice' | 'unknown';
  reproduce: 'changed';
  record: 'format' | 'other';
  requirement: 'form' | 'name';
  result: 'exists';
  resume: 'changed' | 'nothing';
  scenario: 'format' | 'version' | FileCode;
  search: 'options' | 'requirement';
  service: 'unknown';
  set: 'elsewhere' | 'form' | 'unknown' | QuantityCode;
  setup: 'contradiction' | FileCode;
  rom: 'form' | 'size';
  socat: 'failed' | 'missing';
  trace: 'damaged' | 'format' | 'head' | 'value';
  tune: 'elsewhere' | 'many' | 'range' | 'same' | 'unknown' | 'whole';
  two: 'programs';
  value: 'type';
  worksheet: 'cell' | 'empty' | 'head';
}

/** The second half of the codes that begin with this word. */
export type CodeOf<Family extends keyof CodeFamilies> = CodeFamilies[Family];

/** Every code that a StandoffError can have. */
export type StandoffErrorCode = { [F in keyof CodeFamilies]: `${F}-${CodeFamilies[F]}` }[keyof CodeFamilies];

/**
 * Every error that a user can cause. It carries a stable code, what was wrong (with the value and its
 * place), and what to do about it; `message` joins the two so that one line is always enough.
 */
export class StandoffError extends Error {
  override readonly name = 'StandoffError';

  /**
   * @param code   stable, lower-case words joined by hyphens, such as `program-empty`
   * @param what   what was wrong, with the value and where it stands
   * @param remedy what the reader can do now
   */
  constructor(
    readonly code: StandoffErrorCode,
    readonly what: string,
    readonly remedy: string,
  ) {
    super(`${what}; ${remedy}`);
  }
}

/** A place in a text file; both count from 1. */
export interface Place {
  readonly file: string;
  readonly line: number;
  readonly column: number;
}

/** `gate.nc:12:7`, the form that editors turn into a link. */
export function placeText(place: Place): string {
  return `${place.file}:${place.line}:${place.column}`;
}
