import { SYSTEM_WORDS } from '../../base/index.js';

/**
 * Which words of a program this reader knows, in four classes; the page `program-words.gen.md` is written from these rows.
 * Words and modal groups are those of NIST IR 6556 (second hand), and what is common beside it.
 */

/**
 * `acts`: it decides what is cut, and is simulated. `passed`: no business of the torch; it is accepted and told once.
 * `danger`: dangerous or senseless; told before the simulation. `refused`: not understood.
 */
export type WordClass = 'acts' | 'passed' | 'danger' | 'refused';

/** Modal groups of NIST IR 6556 (second hand), as far as they matter here; numbers as there. */
export const Group = {
  nonModal: 0,
  motion: 1,
  plane: 2,
  distance: 3,
  feedMode: 5,
  units: 6,
  radiusCompensation: 7,
  coordinateSystem: 12,
  /** The standard numbers the M groups apart; they are moved up here to share one array. */
  stopping: 13,
  torch: 14,
  /** Absolute or incremental arc centres: not in the standard. */
  arcCentres: 15,
} as const;

export interface WordRow {
  /** As written: `G91.1`, `M3`, a letter, or for a danger its name. */
  readonly word: string;
  readonly class: WordClass;
  /** What it does, or what it asks for; continues a sentence that begins with the word. */
  readonly says: string;
  /** What to do about it; empty for a word that acts. */
  readonly remedy: string;
  /** Modal group: two of one group may not stand on one line. */
  readonly group?: number;
  /** The axis words of its line are its own, and no motion. */
  readonly axes?: boolean;
  /** It may have parameters, such as P and Q, that mean nothing here. */
  readonly parameters?: boolean;
}

const acts = (says: string, group: number, words: string, axes = false): WordRow[] =>
  words.split(' ').map((word) => ({ word, class: 'acts', says, remedy: '', group, axes }));
const passed = (says: string, words: string, more: Partial<WordRow> = {}): WordRow[] =>
  words.split(' ').map((word) => ({ word, class: 'passed', says, remedy: '', parameters: true, ...more }));
const refused = (says: string, remedy: string, words: string, group?: number): WordRow[] =>
  words.split(' ').map((word) => ({ word, class: 'refused', says, remedy, ...(group === undefined ? {} : { group }) }));

const KERF = 'have the path moved by half the kerf when the file is written, and written with G40';
const PLANE = 'cut in the XY plane, G17; the torch stands upright';
const FLAT = 'have the file written as lines and arcs, G1 G2 G3';
const PLAIN = 'have the file written with every move in full: plain numbers, no subprograms';
const UNITS = 'write G20 for inches or G21 for millimetres';
const PER_MINUTE = 'have the feed written in units a minute, G94';

export const G_ROWS: readonly WordRow[] = [
  ...acts('moves at rapid speed', Group.motion, 'G0'),
  ...acts('cuts a line', Group.motion, 'G1'),
  ...acts('cuts an arc, clockwise or counter-clockwise', Group.motion, 'G2 G3'),
  ...acts('waits for P seconds', Group.nonModal, 'G4'),
  ...acts('sets the origin of a coordinate system (L2, L20)', Group.nonModal, 'G10', true),
  ...acts('chooses the XY plane', Group.plane, 'G17'),
  ...acts('chooses inches, or millimetres', Group.units, 'G20 G21'),
  ...acts('moves to a reference point of the setup, by way of the axis words', Group.nonModal, 'G28 G30', true),
  ...acts('has no compensation of the path', Group.radiusCompensation, 'G40'),
  ...acts('moves in machine coordinates, on its line alone', Group.nonModal, 'G53'),
  ...acts('chooses a coordinate system of the setup', Group.coordinateSystem, SYSTEM_WORDS.join(' ')),
  ...acts('ends the motion mode', Group.motion, 'G80'),
  ...acts('reads axis words as absolute, or as incremental', Group.distance, 'G90 G91'),
  ...acts('reads I and J as absolute, or from the start of the arc', Group.arcCentres, 'G90.1 G91.1'),
  ...acts(
    'shifts every coordinate system; takes the shift away, sets it aside, or brings it back',
    Group.nonModal,
    'G92',
    true,
  ),
  ...acts(
    'shifts every coordinate system; takes the shift away, sets it aside, or brings it back',
    Group.nonModal,
    'G92.1 G92.2 G92.3',
  ),
  ...acts('reads the feed in units a minute', Group.feedMode, 'G94'),

  ...passed('ends a mode that is never on here', 'G8 G15 G49 G50 G69 G97 G98 G99', { parameters: false }),
  ...passed('is a tool length: Z is owned by the box while it cuts', 'G43'),
  ...passed('is a tool length: Z is owned by the box while it cuts', 'G43.1 G43.2', { axes: true }),
  ...passed('is a way to follow the path; corners are simulated by the limits of the table', 'G61 G61.1 G64'),
  ...passed('probes for the sheet: the box touches off by itself before it pierces', 'G38.2 G38.3 G38.4 G38.5', {
    axes: true,
    group: Group.motion,
  }),

  ...refused('asks for cutter compensation', KERF, 'G41 G41.1 G42 G42.1', Group.radiusCompensation),
  ...refused('cuts a spline by control points', FLAT, 'G5 G5.1 G5.2 G5.3 G6 G6.2', Group.motion),
  ...refused('gives the feed as inverse time, or for each turn', PER_MINUTE, 'G93 G95', Group.feedMode),
  ...refused('chooses another plane', PLANE, 'G18 G19 G17.1 G18.1 G19.1', Group.plane),
  ...refused(
    'is a cycle of a drill, a lathe or a thread',
    'have every move written out with G0 and G1',
    'G33 G33.1 G73 G74 G76 G81 G82 G83 G84 G85 G86 G87 G88 G89',
    Group.motion,
  ),
  ...refused('chooses units by another standard', UNITS, 'G70 G71', Group.units),
  ...refused(
    'moves, turns or scales the coordinates',
    'have the file written in plain coordinates of the sheet',
    'G16 G51 G52 G68',
  ),
  ...refused('measures by diameter, or by the speed of a spindle', 'take it out; it belongs to a lathe', 'G7 G96'),
  ...refused('calls a subprogram', PLAIN, 'G65 G66 G67'),
];

/** M words that no row names are passed: outputs, waits and words of a shop's own. */
export const OTHER_M_ROW: WordRow = {
  word: 'other M words',
  class: 'passed',
  says: 'is an output, a wait or another business of the machine; the torch is not changed by it',
  remedy: '',
  parameters: true,
};

export const M_ROWS: readonly WordRow[] = [
  ...acts('pauses; the torch goes off first', Group.stopping, 'M0 M1 M60'),
  ...acts('ends the program; the torch goes off', Group.stopping, 'M2 M30'),
  ...acts('requests the torch, or withdraws the request', Group.torch, 'M3 M5'),
  ...passed('changes a tool: a torch table has none', 'M6'),
  ...passed('switches a coolant, or what a shop has in its place', 'M7 M8 M9'),
  ...passed('lets feed and speed be overridden, or not; they are simulated as written', 'M48 M49 M50 M51 M52 M53'),
  OTHER_M_ROW,
  ...refused(
    'turns a spindle backwards',
    'use M3 to request the torch; it has no direction of rotation',
    'M4',
    Group.torch,
  ),
  ...refused('keeps or brings back the modes of the program', PLAIN, 'M70 M71 M72 M73'),
  ...refused('calls a subprogram, or comes back from one', PLAIN, 'M97 M98 M99'),
];

const ROTARY = 'have the file written for X and Y alone';

/** Letters other than G and M. One without a row is read where the word beside it wants it: I J K L P Q R. */
export const LETTER_ROWS: readonly WordRow[] = [
  ...acts('is a place or a distance', -1, 'X Y'),
  ...acts('is the centre of an arc, or its radius', -1, 'I J R'),
  ...acts('is the feed', -1, 'F'),
  ...acts('is the number of a line', -1, 'N'),
  ...passed('is the number of the program', 'O'),
  ...passed('is a height: Z is owned by the box while it cuts, so nothing moves', 'Z'),
  ...passed('is a speed: the cutting current is set on the supply', 'S'),
  ...passed('names a tool: a torch table has none', 'T'),
  ...passed('is an entry of a tool table', 'D H'),
  ...refused('moves another axis than X and Y', ROTARY, 'A B C U V W'),
  ...refused('is a place along Z: the arc lies in another plane', PLANE, 'K'),
  ...refused('is no number: none has an exponent here', 'write the number in full', 'E'),
  ...refused('belongs to a word that is not on its line', 'take it out, or add the word that it belongs to', 'L Q'),
];

export const EXPRESSION_ROW: WordRow = {
  word: '# [ ]',
  class: 'refused',
  says: 'is a parameter or an expression',
  remedy: 'have the file written with plain numbers',
};
export const SUBPROGRAM_ROW: WordRow = {
  word: 'O… sub, call, if',
  class: 'refused',
  says: 'is a subprogram or a branch',
  remedy: PLAIN,
};

/** What is not a word, but stands in programs. */
export const OTHER_ROWS: readonly WordRow[] = [
  { word: '%', class: 'acts', says: 'begins and ends the program', remedy: '' },
  { word: '( ) ;', class: 'acts', says: 'begin a comment, which may hold any bytes and be of any length', remedy: '' },
  {
    word: '/',
    class: 'acts',
    says: 'marks a line that a switch can leave out; the switch is off, so the line is executed',
    remedy: '--block-delete turns it on, whatever number follows the /',
  },
  EXPRESSION_ROW,
  SUBPROGRAM_ROW,
];

const danger = (word: string, says: string, remedy: string): WordRow => ({ word, class: 'danger', says, remedy });

/** By name. `says` is said of the words of the first place. */
export const DANGER_ROWS = {
  rapid_while_on: danger('rapid-while-on', 'moves at rapid speed while the torch is on', 'put M5 before the rapid'),
  cut_while_off: danger(
    'cut-while-off',
    'moves at feed while the torch is off: nothing is cut there',
    'put M3 before the cut, or use G0',
  ),
  nothing_cut: danger(
    'nothing-cut',
    'turns the torch on, and nothing is cut before it goes off',
    'take it out, or add the cut',
  ),
  on_at_end: danger(
    'on-at-end',
    'comes while the torch is still on',
    'put M5 after the last cut; the end of the file may be missing',
  ),
  pause_while_on: danger(
    'pause-while-on',
    'pauses while the torch is on: the torch goes off, and stays off until the next M3',
    'put M5 before the pause and M3 after it',
  ),
  speed_zero: danger(
    'speed-zero',
    'asks for the torch with a speed of 0; it is read as M3',
    'write M5 if the torch is to stay off',
  ),
  long_dwell: danger(
    'long-dwell',
    'waits for a minute or more; P is in seconds',
    'divide it by 1000 if it was meant in milliseconds',
  ),
} as const satisfies Readonly<Record<string, WordRow>>;

/** What is told with a place by the check of program and setup, not by the reader: for the page alone. */
export const JOB_DANGER_ROWS: readonly WordRow[] = [
  danger('cuts-nothing', 'the program cuts nothing: refused', 'add M3 and a move at feed'),
  danger('off-sheet', 'the cut leaves the sheet by more than the run-off: refused', 'move the program or its origin'),
  danger(
    'feed-beyond-box',
    'the feed is faster than Z can follow the steepest sheet',
    'lower the feed, or Z is too slow',
  ),
];

/** Tenths of the number of a word: 911 for G91.1. */
const codeKey = (word: string): number => Math.round(Number(word.slice(1)) * 10);

const byKey = (rows: readonly WordRow[]): (WordRow | undefined)[] => {
  const table: (WordRow | undefined)[] = new Array(1000).fill(undefined);
  for (const row of rows) if (/^[GM]\d/.test(row.word)) table[codeKey(row.word)] = row;
  return table;
};

/** Rows by tenths of their number. */
export const G_BY_KEY = byKey(G_ROWS);
export const M_BY_KEY = byKey(M_ROWS);
