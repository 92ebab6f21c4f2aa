// Which codes there are and which exclude each other; apart from parse.ts, which says what they do.
import { type CodeList, type LineWords, letterMask, type Source } from './words.js';

/** Modal groups of NIST IR 6556 (second hand), as far as this reader knows their words; numbers as there. */
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
} as const;

const GROUP_COUNT = 15;

const G_GROUPS: ReadonlyMap<number, number> = new Map([
  [0, Group.motion],
  [1, Group.motion],
  [2, Group.motion],
  [3, Group.motion],
  [4, Group.nonModal],
  [17, Group.plane],
  [20, Group.units],
  [21, Group.units],
  [40, Group.radiusCompensation],
  [54, Group.coordinateSystem],
  [80, Group.motion],
  [90, Group.distance],
  [91, Group.distance],
  [94, Group.feedMode],
]);

const M_GROUPS: ReadonlyMap<number, number> = new Map([
  [2, Group.stopping],
  [3, Group.torch],
  [5, Group.torch],
  [30, Group.stopping],
]);

/** The code of each modal group on one line, or −1; with the offsets of its word. */
export class LineCodes {
  readonly code = new Int16Array(GROUP_COUNT);
  readonly start = new Int32Array(GROUP_COUNT);
  readonly end = new Int32Array(GROUP_COUNT);

  /** Sorts the G and M words of a line. @throws StandoffError for an unknown code or two of one group. */
  sort(source: Source, words: LineWords): void {
    this.code.fill(-1);
    this.sortList(source, words.g, G_GROUPS, 'G');
    this.sortList(source, words.m, M_GROUPS, 'M');
  }

  private sortList(source: Source, list: CodeList, groups: ReadonlyMap<number, number>, letter: string): void {
    for (let index = 0; index < list.count; index++) {
      const start = list.start[index];
      const end = list.end[index];
      // The standard wants a code to lie within 0.0001 of a whole number.
      const code = Math.round(list.value[index]);
      const group = Math.abs(list.value[index] - code) <= 0.0001 ? groups.get(code) : undefined;
      if (group === undefined) refuseWord(source, start, end, CODE_REMEDIES[letter + code]);
      if (this.code[group] >= 0) {
        const earlier = source.quote(this.start[group], this.end[group]);
        source.fail(
          'program-words-contradict',
          start,
          end,
          `stands on one line with "${earlier}", a word of the same modal group`,
          'keep one of the two, or put the second on a line of its own',
        );
      }
      this.code[group] = code;
      this.start[group] = start;
      this.end[group] = end;
    }
  }
}

/** Letters that this reader knows besides G, M and N. */
const KNOWN_MASK = letterMask('FIJPRSXYZ');

/** Refuses the first word with a letter that means nothing here. */
export function refuseUnknownLetters(source: Source, words: LineWords): void {
  const unknown = words.present & ~KNOWN_MASK;
  if (unknown === 0) return;
  let first = -1;
  for (let letter = 0; letter < 26; letter++) {
    if ((unknown & (1 << letter)) !== 0 && (first < 0 || words.start[letter] < words.start[first])) first = letter;
  }
  const name = String.fromCharCode(65 + first);
  refuseWord(source, words.start[first], words.end[first], LETTER_REMEDIES[name]);
}

function refuseWord(source: Source, start: number, end: number, remedy = GENERAL_REMEDY): never {
  source.fail('program-word-unknown', start, end, 'is not known here', remedy);
}

const known = (codes: Iterable<number>, letter: string) => [...codes].map((code) => letter + code).join(' ');
const GENERAL_REMEDY =
  `take it out or have the program exported without it; read are ${known(G_GROUPS.keys(), 'G')}, ` +
  `${known(M_GROUPS.keys(), 'M')} and the letters F I J N P R S X Y Z`;
const KERF_REMEDY = 'have the drawing program move the path by half the kerf, and export with G40';
const PLANE_REMEDY = 'cut in the XY plane, G17; the torch stands upright';
const CODE_REMEDIES: Readonly<Record<string, string>> = {
  G18: PLANE_REMEDY,
  G19: PLANE_REMEDY,
  G41: KERF_REMEDY,
  G42: KERF_REMEDY,
  G93: 'export the feed in units a minute, G94',
  M4: 'use M3 to request the torch; it has no direction of rotation',
};
const LETTER_REMEDIES: Readonly<Record<string, string>> = {
  E: 'write the number in full; numbers have no exponent here',
  K: PLANE_REMEDY,
  O: 'export the program without subprograms, and take out a line that only names it',
  T: 'take it out; a torch table changes no tools',
};
