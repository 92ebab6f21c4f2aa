import { StandoffError } from '../../sim/base/index.js';
import { type EmulatedBoard, headField } from '../../sim/emulator/board.js';
import { RAM_AT } from '../../sim/emulator/chip/index.js';

/** The bytes SDNX. */
const MAGIC = 0x584e4453;
/** Words of the image's export table (firmware/box/module.h), in their order. */
const WORDS = [
  ...['magic', 'memory_bytes', 'state_bytes', 'tick', 'power_up', 'load_defaults', 'set_parameter'],
  ...['memory', 'input', 'output', 'parameters', 'state', 'trap'],
] as const;
const LR = 14;
const PC = 15;
/** Nothing is mapped here; a return to it ends the call. */
const RETURN_AT = 0xfffffe00;
/** Longest call allowed, processor cycles; the longest tick takes a tenth of it. */
const CYCLES_MOST = 1e6;

/**
 * Addresses by name from the table of exports of an image that runs on this board.
 * @throws StandoffError image-exports
 */
export function exportTable(board: EmulatedBoard, image: Uint8Array): ReadonlyMap<string, number> {
  const table = headField(image, 'export_table');
  const { processor } = board.chip;
  const words = new Map(WORDS.map((word, index) => [word, processor.load32(table + 4 * index) >>> 0]));
  if (words.get('magic') === MAGIC) return words;
  throw new StandoffError('image-exports', 'the image has no table of exports', 'build the image with this source');
}

/**
 * Calls the code of a shipped image directly, without pins, ticks or line. It takes over the board in its idle loop;
 * from then on the board does nothing else.
 */
export class ImageExports {
  /** Processor cycles of the last call, from its first instruction to its return. */
  cycles = 0;
  private readonly words: ReadonlyMap<string, number>;

  /**
   * @param board with an image that runs; @param image the same image's file
   * @throws StandoffError image-exports
   */
  constructor(
    private readonly board: EmulatedBoard,
    image: Uint8Array,
  ) {
    const { processor } = board.chip;
    board.runUntil(() => processor.exception === 0 && board.tick.count > 0, 1e9);
    this.words = exportTable(board, image);
    // Nothing may happen besides the calls: without alarms there is neither interrupt nor watchdog.
    board.chip.clock.clear();
    processor.masked = 1;
  }

  /** Calls a function of the table. @param bits arguments as words; a float by its bits */
  call(name: string, ...bits: number[]): number {
    const { processor, bus, clock } = this.board.chip;
    const registers = processor.r.slice();
    let returned = false;
    bus.return_address = RETURN_AT;
    bus.onReturn = () => {
      returned = true;
      processor.attend();
    };
    processor.r.set(bits);
    processor.r[LR] = RETURN_AT | 1;
    processor.r[PC] = this.words.get(name)! & ~1;
    processor.waiting = false;
    const start = processor.cycles;
    while (!returned && processor.cycles - start < CYCLES_MOST && !processor.locked) {
      processor.runUntil(Math.min(start + CYCLES_MOST, clock.cycleAt(clock.next_ns)));
    }
    this.cycles = processor.cycles - start;
    const result = processor.r[0];
    processor.r.set(registers);
    bus.return_address = -1;
    if (!returned) {
      throw new StandoffError('image-call', `${name} of the image does not return`, this.board.problems.text());
    }
    return result;
  }

  /** The bytes that a word of the table points to; they are the board's memory itself. */
  bytes(name: string, length: number): Uint8Array {
    const at = this.words.get(name)! - RAM_AT;
    return this.board.chip.processor.memory.subarray(at, at + length);
  }

  get state(): Uint8Array {
    return this.bytes('state', this.words.get('state_bytes')!);
  }
}
