/** Random bytes from a PC at the emulated board's USB port, for the test and for the long run of the benchmark. */
import { createHash } from 'node:crypto';
import { Random } from '../../sim/base/index.js';
import { EmulatedBoard, LinkPort, NO_TIMES } from '../../sim/emulator/index.js';
import { decodeLayout, encodeLayout, layoutBytes } from '../../sim/link/index.js';
import { RESTING } from './cutting.js';
import { loadImage, loadLoader } from './images.js';

const MS_ns = 1e6;
const PIECE = 4096;
const VALUES_A_FRAME = 32;

/** What random bytes may not change. */
interface Standing {
  readonly mode: unknown;
  readonly parameters: string;
  readonly flash: string;
}

/** What came of the bytes. */
export interface UsbNoise {
  readonly bytes: number;
  /** Frames that the board sent meanwhile. */
  readonly answers: number;
  /** Edges at its outputs but lamp and LED. */
  readonly edges: number;
  readonly before: Standing;
  readonly after: Standing;
  /** Seconds of the board's time. */
  readonly took_s: number;
  readonly problems: string;
}

function standing(board: EmulatedBoard, link: LinkPort): Standing {
  const { mode, fault, desk, digital_outputs } = decodeLayout('state', link.ask('state').payload)!.values;
  const parameters: string[] = [];
  for (let first = 0; ; ) {
    const { payload } = link.ask('parameters-read', encodeLayout('span', { first, count: VALUES_A_FRAME }));
    if (payload.length === 0) break;
    parameters.push(Buffer.from(payload).toString('hex'));
    first += payload.length / layoutBytes('value');
  }
  const flash = createHash('sha256').update(board.flash).digest('hex');
  return { mode: [mode, fault, desk, digital_outputs], parameters: parameters.join(), flash };
}

/** Every fourth byte is an end more often than by chance: more lines are looked at. */
function pieceOf(random: Random, length: number): Uint8Array {
  return Uint8Array.from({ length }, (_, at) => {
    const byte = random.next_u32() >>> 24;
    return at % 4 === 3 && (byte & 0x1f) === 0 ? 0 : byte;
  });
}

/** Sends that many random bytes to a box at rest, as fast as it takes them. */
export async function usbNoise(
  bytes: number,
  seed: number,
  onPiece: (sent: number) => void = () => {},
): Promise<UsbNoise> {
  const board = await EmulatedBoard.create({ loader: loadLoader(), image: loadImage(), times: NO_TIMES });
  board.pins.setLines(RESTING);
  board.usb.plug();
  board.runUntil(() => board.usb.device !== undefined, 3e9);
  board.usb.open();
  board.runUntil(() => board.usb.opened, 1e9);
  const link = new LinkPort(board, board.usb);
  board.run(200 * MS_ns);
  const before = standing(board, link);
  const random = new Random(seed);
  const from_ns = board.now_ns;
  let answers = 0;
  link.onFrame = () => answers++;
  for (let sent = 0; sent < bytes; sent += PIECE) {
    board.usb.send(pieceOf(random, Math.min(PIECE, bytes - sent)));
    while (board.usb.pending > 0) board.run(MS_ns);
    onPiece(sent);
  }
  board.run(50 * MS_ns);
  const edges = board.recorder.edges(from_ns).filter(({ pin }) => pin !== 'LED' && pin !== 'LAMP').length;
  const took_s = (board.now_ns - from_ns) / 1e9;
  const heard = answers;
  // The end of whatever the line holds, and a frame right behind it.
  board.usb.send(Uint8Array.of(0));
  const after = standing(board, link);
  return { bytes, answers: heard, edges, before, after, took_s, problems: board.problems.text() };
}
