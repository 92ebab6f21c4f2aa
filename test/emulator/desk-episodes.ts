/** Random episodes of the desk state on the emulated chip, for the test and for the long run of the benchmark. */
import { FAULT_ROWS } from '../../firmware/wire/code-rows.js';
import * as wire from '../../firmware/wire/layout.gen.js';
import { BOOT_ROWS, STATUS_ROWS } from '../../firmware/wire/link-rows.js';
import type { Random } from '../../sim/base/index.js';
import { type Edge, type EmulatedBoard, LinkPort, Stimulus } from '../../sim/emulator/index.js';
import { decodeLayout, encodeLayout } from '../../sim/link/index.js';

const MS_ns = 1e6;
const QUIET = wire.INPUT_STOP_CHAIN | wire.INPUT_BREAKAWAY | wire.INPUT_TOP;
const SOUND = { arc_counts: 124, reference_counts: 2048 };
const VALUE = encodeLayout('values', {}, [{ id: 1, value: 600 }]);
const DONE = STATUS_ROWS.findIndex((row) => row.name === 'done');
/** What a host may ask for in the desk state without ending it. */
const REQUESTS: readonly (readonly [string, Uint8Array?])[] = [
  ['desk-begin'],
  ['desk-begin'],
  ['state'],
  ['identity'],
  ['parameters-stage', VALUE],
  ['parameters-commit'],
  ['lockstep-begin'],
  ['lockstep-ticks', encodeLayout('tick_inputs', { first: 0 }, new Uint8Array(wire.INPUT_BYTES).fill(0x55))],
  ['lockstep-end'],
];
/** From the request until the box has ticked again, and less than a fault of the new start takes. */
const RESTART_MS = 430;

/** What an episode showed. */
export interface DeskEpisode {
  readonly entered: boolean;
  readonly stop_before: boolean;
  /** The module's latched stop was set when the box was asked to restart. */
  readonly stop_at_restart: boolean;
  /** Names of EPISODE_REQUIREMENTS that the pins showed broken, with how. */
  readonly broken: readonly (readonly [requirement: string, what: unknown])[];
}

/** A board whose wires are anything, brought into the desk state, with anything asked of it there. */
export class DeskBench {
  private readonly stimulus: Stimulus;
  private readonly link: LinkPort;
  private inputs = 0;

  constructor(
    readonly board: EmulatedBoard,
    private readonly random: Random,
  ) {
    this.stimulus = new Stimulus(board);
    this.link = new LinkPort(board);
  }

  private wire(arc_counts: number, reference_counts: number): void {
    this.stimulus.readings.fill(arc_counts);
    this.stimulus.reference = reference_counts;
  }

  private ms(count: number): void {
    for (let done = 0; done < count; done++) {
      this.stimulus.begin(this.inputs, 0, 0);
      this.board.run(MS_ns);
    }
  }

  private turn(): void {
    const { random } = this;
    if (random.chance(0.1)) this.inputs ^= 1 << Math.floor(random.between(0, 9));
    if (random.chance(0.05)) this.wire(Math.floor(random.between(0, 4096)), Math.floor(random.between(0, 4096)));
    // Somebody arms it, with all else as in a sound box; or puts all right and presses reset.
    if (random.chance(0.03)) this.inputs = QUIET | wire.INPUT_KEY | wire.INPUT_REQUEST;
    if (random.chance(0.05)) {
      this.wire(SOUND.arc_counts, SOUND.reference_counts);
      this.inputs = QUIET | wire.INPUT_RESET;
    }
  }

  private get stop_set(): boolean {
    return (this.board.pins.digital_outputs & wire.OUTPUT_LATCHED_STOP) !== 0;
  }

  play(): DeskEpisode {
    const { board, random, link } = this;
    this.inputs = random.chance(0.6) ? 0 : QUIET;
    const wired = random.chance(0.3);
    if (wired) this.wire(SOUND.arc_counts, SOUND.reference_counts);
    else this.wire(Math.floor(random.between(0, 1001)), Math.floor(random.between(0, 4096)));
    board.powerCut();
    board.powerUp();
    this.ms(900);
    const entered = link.try('desk-begin')?.status === DONE;
    const stop_before = this.stop_set;
    const from_ns = board.now_ns;
    for (let step = 0; step < 40; step++) {
      this.turn();
      this.ms(5);
      if (random.chance(0.4)) link.try(...REQUESTS[Math.floor(random.between(0, REQUESTS.length))]);
    }
    const edges = board.recorder.edges(from_ns).filter(({ pin }) => pin !== 'LAMP' && pin !== 'LED');
    this.inputs = 0;
    this.ms(5);
    link.try('lockstep-end');
    const { fault } = decodeLayout('state', link.try('state')!.payload)!.values;
    const stop_at_restart = FAULT_ROWS[fault as number]!.latches_stop;
    link.try('restart');
    this.ms(RESTART_MS);
    const stop_after = this.stop_set;
    const identity = link.try('identity');
    const boot = identity && decodeLayout('identity', identity.payload)!.values.boot;
    if (!entered) return { entered, stop_before, stop_at_restart, broken: [] };
    const broken: [string, unknown][] = [...deskEdges(edges)];
    if (BOOT_ROWS[boot as number]?.name !== 'restart') broken.push(['desk-end', boot]);
    // A stop that was set between that look and the restart stands again too.
    if (stop_at_restart && !stop_after) broken.push(['restart-latched-stop', stop_after]);
    return { entered, stop_before, stop_at_restart, broken };
  }
}

/** What the edges at the pins break, from the answer to desk-begin until the restart. */
function deskEdges(edges: readonly Edge[]): [string, unknown][] {
  const wrong = edges.filter(({ pin, high }) => pin !== 'LATCHED_STOP' || !high);
  return wrong.map((edge) => [edge.pin === 'LATCHED_STOP' ? 'desk-latched-stop' : 'desk-outputs', edge]);
}
