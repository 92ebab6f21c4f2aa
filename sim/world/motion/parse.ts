import { MM_PER_INCH, ORIGIN_NAMES, type Origins, StandoffError, SYSTEM_WORDS } from '../../base/index.js';
import { TorchWatch } from './dangers.js';
import { refusal } from './diagnoses.js';
import { Line } from './line.js';
import { Moves } from './moves.js';
import { Coordinates } from './origins.js';
import { BlockKind, type Program, ProgramBuilder } from './program.js';
import { LEAVE_LINE, Source } from './source.js';
import { DANGER_ROWS, Group } from './word-rows.js';
import { letterIndex, letterMask } from './words.js';

/**
 * Reads an RS-274 program: NIST IR 6556 (second hand) for lines, numbers, modal groups, arcs, the dwell and
 * the order in which the words of one line take effect. M3 requests the torch; M5, M0, M1, M2, M30 and the closing %
 * withdraw the request. Words that are no business of the torch are passed over: `word-rows.ts` has them all.
 *
 * Where this reader accepts more than the standard: a motion code may stand without axis words and only sets the
 * mode; a full circle may leave out X and Y; line numbers may have more than five digits; `;` starts a
 * comment; brackets may stand in a comment; the end may be missing; G28 and G30 move only the axes that they name. What the
 * standard leaves open: a units word counts for every number on its line, F included; a change of units leaves the feed as
 * it is; block delete is off. At the start G90, G91.1, G17, G94, G54 and G21 are in effect, no motion code is, and the torch
 * stands at the origin of G54.
 *
 * The whole program is read, whatever is wrong with it: the error names every kind of mistake with its first place.
 *
 * @param text the whole program; @param file its name for messages; @param origins where the coordinate systems of the table lie.
 * @throws StandoffError `program-…` with file, line, column and the offending text.
 */
export function parseProgram(text: string, file: string, origins: Origins = {}): Program {
  return new ProgramReader(text.startsWith('\ufeff') ? text.slice(1) : text, file, origins).read();
}

class ProgramReader {
  private readonly source: Source;
  private readonly line: Line;
  private readonly blocks: ProgramBuilder;
  private readonly coordinates: Coordinates;
  private readonly torch: TorchWatch;
  private readonly moves: Moves;

  private ended = false;
  private blank = true;
  private units_known = false;

  constructor(text: string, file: string, origins: Origins) {
    this.source = new Source(text, file);
    this.line = new Line(this.source);
    this.coordinates = new Coordinates(origins);
    const { origin_x_mm, origin_y_mm } = this.coordinates;
    this.blocks = new ProgramBuilder(64 + Math.ceil(text.length / CHARACTERS_A_BLOCK), origin_x_mm, origin_y_mm);
    this.torch = new TorchWatch(this.line);
    this.moves = new Moves(this.line, this.blocks, this.coordinates, this.torch);
  }

  read(): Program {
    const { source } = this;
    while (source.nextLine()) {
      if (this.ended) this.noteAfterEnd();
      else if (this.percentLine()) {
        // The first % opens the program; one after a block closes it.
        if (!this.blank) this.end(false);
      } else this.readLine();
    }
    if (this.blank) {
      const what = `${source.file}: the program is empty`;
      throw new StandoffError('program-empty', what, 'give the RS-274 program of the cut; it ends with M30');
    }
    if (!this.ended) this.endWithoutWord();
    const found = source.found.sorted();
    if (source.found.errors > 0) throw refusal(found, source.file);
    return this.blocks.finish(source.file, source.line, found);
  }

  private readLine(): void {
    try {
      if (!this.line.read()) return;
      this.blank = false;
      this.execute();
    } catch (left) {
      if (left !== LEAVE_LINE) throw left;
      this.blank = false;
      this.moves.follow();
    }
  }

  private percentLine(): boolean {
    const { text, line_start, line_end } = this.source;
    let index = line_start;
    while (index < line_end && text.charCodeAt(index) <= SPACE) index++;
    return text.charCodeAt(index) === PERCENT && index < line_end && TAPE_MARK.test(text.slice(index, line_end));
  }

  private noteAfterEnd(): void {
    const { source } = this;
    const rest = source.quote(source.line_start, source.line_end);
    if (rest === '' || rest === '%' || rest.startsWith('(') || rest.startsWith(';')) return;
    const said = { what: 'comes after the end of the program, and is not read', remedy: '', key: 'after the end' };
    source.tell('note', 'program-note', source.line_start, source.line_end, said);
  }

  private endWithoutWord(): void {
    const { source } = this;
    this.end(false);
    const what = 'is the last line: M2, M30 or a closing % is missing after it, and is taken to be there';
    source.tell('note', 'program-note', source.line_start, source.line_end, { what, remedy: '', key: 'no end' });
  }

  /** Executes one line in the order of the standard. */
  private execute(): void {
    const { line, moves } = this;
    this.setUnits();
    if (line.words.block_delete) this.noteBlockDelete();
    if (line.has(F)) this.setFeed();
    if (line.code(Group.torch) >= 0) this.switchTorch();
    this.dwell();
    if (line.code(Group.coordinateSystem) >= 0) this.chooseSystem();
    if (line.code(Group.distance) >= 0) moves.incremental = line.code(Group.distance) === 910;
    if (line.code(Group.arcCentres) >= 0) moves.absolute_centres = line.code(Group.arcCentres) === 901;
    if (this.setsPlaces()) this.keepMotion();
    else moves.move();
    if (line.code(Group.stopping) >= 0) this.stop();
  }

  /** A line whose axis words are no motion of its own may still state the motion mode. */
  private keepMotion(): void {
    if (this.line.code(Group.motion) >= 0) this.moves.motion_code = this.line.code(Group.motion);
  }

  private addBlock(kind: BlockKind, dwell_s = 0): void {
    this.blocks.add(kind, this.source.line, this.moves.x_mm, this.moves.y_mm, 0, dwell_s);
  }

  private switchTorch(): void {
    const { line, torch } = this;
    const on = line.code(Group.torch) === 30;
    this.addBlock(on ? BlockKind.torchOn : BlockKind.torchOff);
    if (on && line.has(S) && line.value(S) === 0) line.warnCode(Group.torch, DANGER_ROWS.speed_zero);
    if (on) torch.turnOn();
    else torch.turnOff();
  }

  private stop(): void {
    const code = this.line.code(Group.stopping);
    if (code === 20 || code === 300) this.end(true);
    else this.pause();
  }

  private pause(): void {
    this.torch.pause();
    this.addBlock(BlockKind.torchOff);
    this.addBlock(BlockKind.dwell, PAUSE_S);
    const { start, end } = this.line.codes;
    const what = `is a pause; it is simulated as ${PAUSE_S} s`;
    this.source.tell('note', 'program-note', start[Group.stopping], end[Group.stopping], {
      what,
      remedy: '',
      key: 'M0',
    });
  }

  private end(stated: boolean): void {
    this.torch.end(stated);
    this.addBlock(BlockKind.end);
    this.ended = true;
  }

  private noteBlockDelete(): void {
    const { source } = this;
    const what = 'is marked by / as a line that can be left out; block delete is off, so it is executed';
    const remedy = '--block-delete leaves such lines out';
    source.tell('note', 'program-note', source.line_start, source.line_end, { what, remedy, key: '/' });
  }

  private setUnits(): void {
    const { line, moves } = this;
    const code = line.code(Group.units);
    if (code >= 0) {
      moves.scale_mm = code === 200 ? MM_PER_INCH : 1;
      this.units_known = true;
    } else if (!this.units_known && (line.words.present & LENGTH_MASK) !== 0) {
      this.units_known = true;
      const letter = line.first(LENGTHS) as number;
      const what = 'comes before any G20 or G21: lengths are read as millimetres';
      line.note(letter, { what, remedy: 'write G20 before it if they are inches', key: 'units' });
    }
  }

  private chooseSystem(): void {
    const { line, coordinates } = this;
    coordinates.choose(systemOf(line.code(Group.coordinateSystem)));
    if (coordinates.system === 0 || !coordinates.atCorner()) return;
    const { x, y } = ORIGIN_NAMES[SYSTEM_WORDS[coordinates.system]];
    const what = 'lies at the lower left corner of the sheet: the setup gives it no origin';
    line.noteCode(Group.coordinateSystem, { what, remedy: `give machine.origins.${x} and ${y} in the setup` });
  }

  private setFeed(): void {
    const { line, moves } = this;
    const feed_mm_s = (line.value(F) * moves.scale_mm) / 60;
    if (feed_mm_s < 0 || feed_mm_s > GREATEST_FEED_MM_S)
      line.fail('program-feed', F, 'is not a feed', 'give a feed of 0 to 1 000 000 mm/min');
    moves.feed_mm_s = feed_mm_s;
  }

  private dwell(): void {
    const { line } = this;
    const code = line.code(Group.nonModal);
    if (code !== 40) {
      if (line.has(P) && !line.codes.takes_parameters && code !== 100)
        line.fail('program-word-without-use', P, 'has no G4 on its line', 'add G4, or take the P word out');
      return;
    }
    if (!line.has(P)) line.failCode('program-dwell', Group.nonModal, 'has no P word', 'add P and the time in seconds');
    const time_s = line.value(P);
    if (time_s < 0 || time_s > LONGEST_DWELL_S)
      line.fail('program-dwell', P, 'is not a dwell time', 'give 0 to 3600; P is in seconds');
    if (time_s >= SUSPECT_DWELL_S) line.warn(P, DANGER_ROWS.long_dwell);
    this.addBlock(BlockKind.dwell, time_s);
  }

  /** Words that say what a place means, or go to one of the setup. @returns false when the line has none */
  private setsPlaces(): boolean {
    const { line, moves, coordinates } = this;
    const here = (letter: number) => (line.has(letter) ? moves.length(letter) : undefined);
    switch (line.code(Group.nonModal)) {
      case 100:
        this.setOrigin();
        return true;
      case 280:
        this.goToReference('G28');
        return true;
      case 300:
        this.goToReference('G30');
        return true;
      case 920:
        coordinates.shiftHere(moves.x_mm, moves.y_mm, here(X), here(Y));
        return true;
      case 921:
      case 922:
        coordinates.endShift(line.code(Group.nonModal) === 921);
        return false;
      case 923:
        coordinates.restoreShift();
        return false;
    }
    if (!line.codes.takes_axes) return false;
    if (line.has(X) || line.has(Y)) {
      const remedy = 'take the X and Y words out; the box touches off along Z, where the torch stands';
      line.fail('program-word-without-use', line.has(X) ? X : Y, 'stands with a word that moves Z alone', remedy);
    }
    return true;
  }

  private setOrigin(): void {
    const { line } = this;
    if (!line.has(L) || !line.has(P))
      line.failCode(
        'program-word-without-use',
        Group.nonModal,
        'has no L or no P word',
        'write L2 or L20, and P1 to P9',
      );
    const kind = line.value(L);
    const tool_table = kind === 1 || kind === 10 || kind === 11;
    if (tool_table)
      line.note(L, { what: 'sets the tool table: a torch table changes no tools', remedy: '', key: 'G10 L1' });
    else this.setSystem(kind);
  }

  private setSystem(kind: number): void {
    const { line, moves, coordinates } = this;
    if (kind !== 2 && kind !== 20)
      line.fail('program-word-unknown', L, 'is not known with G10', 'write L2 or L20, which set an origin');
    if (line.has(R) && line.value(R) !== 0)
      line.fail('program-word-unknown', R, 'turns the coordinates', 'have the file written in the axes of the table');
    const number = line.value(P);
    if (!Number.isInteger(number) || number < 0 || number > 9)
      line.fail('program-range', P, 'is no coordinate system', 'give 1 to 9, for G54 to G59.3');
    const system = number === 0 ? coordinates.system : number - 1;
    const x_mm = line.has(X) ? moves.length(X) : undefined;
    const y_mm = line.has(Y) ? moves.length(Y) : undefined;
    if (kind === 2) coordinates.setOrigin(system, x_mm, y_mm);
    else coordinates.setHere(system, moves.x_mm, moves.y_mm, x_mm, y_mm);
  }

  /** By way of the axis words; then the axes that were named go to the place of the setup, or all where none was. */
  private goToReference(word: 'G28' | 'G30'): void {
    const { line, moves, coordinates } = this;
    const all = !line.has(X) && !line.has(Y) && !line.has(Z);
    moves.rapidTo(moves.target(X, moves.x_mm), moves.target(Y, moves.y_mm));
    const x_mm = all || line.has(X) ? coordinates.at(word, 'x') : moves.x_mm;
    const y_mm = all || line.has(Y) ? coordinates.at(word, 'y') : moves.y_mm;
    moves.rapidTo(x_mm, y_mm);
  }
}

const systemOf = (code: number): number => (code <= 590 ? (code - 540) / 10 : code - 585);
const [F, L, P, R, S, X, Y, Z] = [...'FLPRSXYZ'].map(letterIndex);
const LENGTHS = [...'FIJRXYZ'].map(letterIndex);
const LENGTH_MASK = letterMask('FIJRXYZ');
/** A tape mark may carry the number of the program. */
const TAPE_MARK = /^%\s*[:O]?\s*\d*\s*(?:\(.*|;.*)?$/i;
const SPACE = 32;
const PERCENT = 37;
/** A guess that spares growing. */
const CHARACTERS_A_BLOCK = 24;
const GREATEST_FEED_MM_S = 1_000_000 / 60;
const LONGEST_DWELL_S = 3600;
const SUSPECT_DWELL_S = 60;
/** How long a person takes at a pause is not known; the arc is off meanwhile. Assumption. */
const PAUSE_S = 10;
