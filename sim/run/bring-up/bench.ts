import { StandoffError } from '../../base/index.js';
import { type Identity, isBroken, type Line, leaveLoader, listPorts, type Session, withBox } from '../../link/index.js';

/** A jumper from a level or an output to an input; `rc`: 47 kohm in it, and 100 µF from the input to 0 V. */
export interface Wire {
  readonly from: '0 V' | '3.3 V' | 'LAMP' | 'LATCHED_STOP' | 'MOTION_PERMIT' | 'Z_DIRECTION' | 'Z_OWNED' | 'Z_STEP';
  /** Name of a pin. */
  readonly to: string;
  readonly rc?: boolean;
}

/** Something that hands do at the board. */
export type Deed =
  /** These wires and no others. */
  | { readonly kind: 'wires'; readonly wires: readonly Wire[] }
  /** The cable is pulled at a moment of the person's own choice, and put in again: nobody waits for an answer. */
  | { readonly kind: 'cable' };

/** A board with what is around it: a real one with a person, or an emulated one. */
export interface Bench {
  readonly kind: 'board' | 'emulated';
  /** The board's own USB port, which goes with its power, or a serial line. */
  readonly way: 'usb' | 'serial';
  readonly address: string;
  open(): Promise<Line>;
  /** Clock of the host, ms. */
  now_ms(): number;
  pause(ms: number): Promise<void>;
  /** Longest time for a person to do something, ms. */
  readonly patience_ms: number;
  /** @returns false: it will not be done */
  deed(deed: Deed): Promise<boolean>;
}

/** What came of a step. `not tried` is never `passed`. */
export interface StepResult {
  readonly verdict: 'passed' | 'failed' | 'not tried';
  /** One sentence: what was tried, what was found. */
  readonly words: string;
  /** Figures, their units in their names. */
  readonly figures: Readonly<Record<string, number | string>>;
  /** Values for the section machine of a setup, by path. */
  readonly machine?: Readonly<Record<string, number>>;
}

/** What a step is given. */
export interface StepContext {
  readonly bench: Bench;
  /** How much of it: seconds, ticks, times. */
  readonly count: number;
  readonly tell: (sentence: string) => void;
}

/** A step of the bring-up. */
export interface Step {
  readonly name: string;
  readonly title: string;
  /** What the count counts. */
  readonly unit: string;
  /** How much on a real board, and on the emulated one. */
  readonly counts: Readonly<Record<Bench['kind'], number>>;
  /** Hands at the board are needed. */
  readonly hands: boolean;
  run(context: StepContext): Promise<StepResult>;
}

export const passed = (words: string, figures: StepResult['figures'] = {}): StepResult => ({
  verdict: 'passed',
  words,
  figures,
});
export const failed = (words: string, figures: StepResult['figures'] = {}): StepResult => ({
  verdict: 'failed',
  words,
  figures,
});
export const notTried = (words: string): StepResult => ({ verdict: 'not tried', words, figures: {} });

/** A port that has just come, and that the system still looks at. */
const COMING = ['port-refused', 'port-busy'];
/** What a port says that is not there yet, or has just gone. */
export const isAway = (error: unknown): boolean =>
  isBroken(error) || (error instanceof StandoffError && COMING.includes(error.code));
const LOOK_ms = 50;
/** A box that was told to start, or was plugged in, is there sooner, ms. */
const START_ms = 8000;

/**
 * Does work with the box, once its port is there and its image runs.
 * @param wait_ms longest wait for it
 * @throws StandoffError what stands in the way after that time; what the work throws
 */
export async function atBox<T>(
  bench: Bench,
  work: (session: Session, identity: Identity) => Promise<T>,
  wait_ms = START_ms,
): Promise<T> {
  const begun_ms = bench.now_ms();
  let working = false;
  for (;;) {
    try {
      const both = async (session: Session, first: Identity) => {
        const identity = await leaveLoader(session, first);
        working = true;
        return work(session, identity);
      };
      return await withBox(bench.address, both, undefined, undefined, () => bench.open());
    } catch (error) {
      if (working || !isAway(error) || bench.now_ms() - begun_ms > wait_ms) throw error;
      await bench.pause(LOOK_ms);
    }
  }
}

/** Opens the port, once it is there. @throws StandoffError what stands in the way after START_ms */
export async function openThere(bench: Bench): Promise<Line> {
  const begun_ms = bench.now_ms();
  for (;;) {
    try {
      return await bench.open();
    } catch (error) {
      if (!isAway(error) || bench.now_ms() - begun_ms > START_ms) throw error;
      await bench.pause(LOOK_ms);
    }
  }
}

/** Waits until the link breaks. @returns false when it did not in that time */
export async function untilLost(bench: Bench, session: Session, wait_ms: number): Promise<boolean> {
  const begun_ms = bench.now_ms();
  session.watch();
  while (session.lost === '') {
    if (bench.now_ms() - begun_ms > wait_ms) return false;
    await bench.pause(LOOK_ms);
  }
  return true;
}

/** Who is on the bench: its identity, and the serial number where the port has one, else the port. */
export async function boardOf(bench: Bench): Promise<{ readonly identity: Identity; readonly board: string }> {
  const identity = await atBox(bench, async (_, found) => found);
  const { serials } = bench.kind === 'board' ? await listPorts() : { serials: {} as Readonly<Record<string, string>> };
  return { identity, board: serials[bench.address] ?? bench.address };
}
