// Defects of a board's starts, apart from planted.test.ts, which has those of everything else: how they are planted is their own.
import type { EmulatedBoard } from '../../../sim/emulator/index.js';
import type { PlantedDefect } from '../../../sim/run/bring-up/index.js';

/** Changes what the watchdog's registers take and give: offset and value. */
const watchdog =
  (change: {
    readonly read?: (offset: number, value: number) => number;
    readonly write?: (offset: number, value: number) => number;
  }) =>
  ({ chip }: EmulatedBoard) => {
    const registers = chip.watchdog;
    const read = registers.readUint32.bind(registers);
    const write = registers.writeUint32.bind(registers);
    if (change.read) registers.readUint32 = (offset) => change.read!(offset, read(offset));
    if (change.write) registers.writeUint32 = (offset, value) => write(offset, change.write!(offset, value));
  };
const WATCHDOG_CTRL = 0;
const WATCHDOG_ENABLE = 0x40000000;
/** Scratch 0 has the cause of a deliberate restart, 1 that an image ran. */
const SCRATCH_CAUSE = 0x0c;
const SCRATCH_RAN = 0x10;

interface StartDefect {
  readonly step: string;
  readonly what: string;
  readonly defect: PlantedDefect;
  /** What the step says. */
  readonly words: RegExp;
}

export const START_DEFECTS: readonly StartDefect[] = [
  {
    step: 'restarts',
    what: 'a cause that a reset loses',
    defect: { board: watchdog({ read: (offset, value) => (offset === SCRATCH_CAUSE ? 0 : value) }) },
    words: /restart 1: it says that it started by hung/,
  },
  {
    step: 'restarts',
    what: 'a chip that takes its reset for a power-up',
    defect: {
      board: watchdog({ read: (offset, value) => (offset === SCRATCH_CAUSE || offset === SCRATCH_RAN ? 0 : value) }),
    },
    words: /restart 1: it says that it started by power-up/,
  },
  {
    step: 'hang',
    what: 'a watchdog that is never armed',
    defect: {
      board: watchdog({ write: (offset, value) => (offset === WATCHDOG_CTRL ? value & ~WATCHDOG_ENABLE : value) }),
    },
    words: /failure 1: the box did not start again/,
  },
  {
    step: 'hang',
    what: 'a hang whose cause is not kept',
    defect: { board: watchdog({ read: (offset, value) => (offset === SCRATCH_RAN ? 0 : value) }) },
    words: /known as power-up, not as hung/,
  },
  {
    step: 'protected',
    what: 'code without a guard',
    defect: {
      board: (board) => {
        Object.defineProperty(board.chip.processor, 'guard_bytes', { get: () => 0, set: () => {} });
      },
    },
    words: /goes on as if nothing/,
  },
];
