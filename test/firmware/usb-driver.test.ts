/** The port's USB driver under a strict PC, sound and with defects planted in it. */
import { expect, it } from 'vitest';
import { Random } from '../../sim/base/index.js';
import { EmulatedBoard } from '../../sim/emulator/index.js';
import { loadLoader } from '../emulator/images.js';
import { describeAgainst } from '../reference/support.js';
import { ARM_GCC, buildPortImage, type PortDefect } from './port-board.js';

const MS_ns = 1e6;
/** Around the packet's 64 bytes, where one more packet, an empty one or none must follow. */
const LENGTHS = [1, 63, 64, 65, 127, 128, 129, 192, 255];
const PACKET = 64;

/** A program that talks to the box of native/usb-box.c. */
class Talk {
  private came: number[] = [];

  constructor(readonly board: EmulatedBoard) {
    board.usb.onByte = (byte) => this.came.push(byte);
  }

  /** Waits for the port and opens it. @returns what went wrong */
  open(): string {
    const { board } = this;
    board.usb.plug();
    if (!board.runUntil(() => board.usb.device !== undefined, 1200 * MS_ns)) return 'no port';
    board.usb.open();
    if (!board.runUntil(() => board.usb.opened, 600 * MS_ns)) return 'it cannot be opened';
    this.came = [];
    return '';
  }

  /** Sends a message. @returns the answer to wait for */
  send(length: number, seed: number): number[] {
    const random = new Random(seed);
    const bytes = Array.from({ length }, () => 128 + ((random.next_u32() >>> 0) % 127));
    this.board.usb.send(Uint8Array.from([length, ...bytes]));
    return bytes.map((byte) => byte ^ 0x7f);
  }

  /** Sends a message and waits for its answer. @returns what went wrong */
  exchange(length: number, seed: number): string {
    const wanted = this.send(length, seed);
    const answered = () => this.since(0).length >= length;
    if (!this.board.runUntil(answered, 50 * MS_ns)) return `${this.since(0).length} of ${length} bytes came`;
    const right = Buffer.compare(Buffer.from(this.since(0)), Buffer.from(wanted)) === 0;
    this.came = [];
    return right ? '' : `an answer of ${length} bytes is not the right one`;
  }

  /** What has come behind the last of these bytes. */
  private since(byte: number): readonly number[] {
    return this.came.slice(this.came.lastIndexOf(byte) + 1);
  }

  /** Bytes of an earlier program that came before the mark. */
  get stale(): number {
    return Math.max(0, this.came.indexOf(0));
  }
}

/** Everything that a driver must bear. @returns the first complaint; empty for none */
async function complaint(image: Uint8Array): Promise<string> {
  const board = await EmulatedBoard.create({ loader: loadLoader(), image });
  const talk = new Talk(board);
  board.runUntil(() => board.tick.count > 0, 1e9);
  const steps: (() => string)[] = [
    () => talk.open(),
    ...LENGTHS.map((length) => () => talk.exchange(length, length)),
    () => {
      // Every fifth handshake is lost, either way: both ends tell a repeated packet by its toggle.
      board.usb.losesHandshake = (number) => number % 5 === 4;
      return LENGTHS.map((length) => talk.exchange(length, 1000 + length)).find((why) => why !== '') ?? '';
    },
    () => {
      board.usb.losesHandshake = () => false;
      talk.send(200, 7);
      // The box has all of the request; nobody reads its answer.
      board.runUntil(() => board.usb.pending === 0, 5 * MS_ns);
      board.usb.close();
      board.run(20 * MS_ns);
      const again = talk.open();
      board.run(5 * MS_ns);
      if (talk.stale > PACKET) return `${talk.stale} bytes for a program that was gone`;
      return again || talk.exchange(100, 8);
    },
    ...[0.3, 1.7, 2.2].map((ms) => () => {
      talk.send(255, 9);
      board.run(ms * MS_ns);
      board.usb.unplug();
      board.run(30 * MS_ns);
      return talk.open() || talk.exchange(130, 10);
    }),
  ];
  for (const step of steps) {
    const why = step();
    if (board.problems.count > 0) return board.problems.text();
    if (why !== '') return why;
  }
  return '';
}

const defect = (source: string, from: string, to: string): PortDefect => ({ source, from, to });
const DEFECTS: readonly (readonly [string, RegExp, PortDefect])[] = [
  ['no toggle ever changes', /toggle/, defect('usb-end.h', '  end->odd = !end->odd;\n', '')],
  ['the empty packet is forgotten', /0 of 64 bytes/, defect('usb.c', 'ends_full = length == USB_PACKET;', '')],
  [
    'AVAILABLE is written with the rest',
    /AVAILABLE written together/,
    defect('usb-end.h', 'REGISTER(end->control) = control;', 'REGISTER(end->control) = control | BUFFER_AVAILABLE;'),
  ],
  [
    'AVAILABLE is written too soon',
    /AVAILABLE written too soon/,
    defect('usb-end.h', '  __asm volatile("nop\\nnop\\nnop\\nnop\\nnop\\nnop" ::: "memory");\n', ''),
  ],
  [
    'the address is taken on before the status',
    /no answer in the status stage/,
    defect('usb-control.c', 'transfer.address = value & 127u;', 'REGISTER(USB_ADDRESS) = value & 127u;'),
  ],
  [
    'a new configuration leaves a toggle',
    /toggle/,
    defect('usb.c', 'usb_withdraw(&to_pc, false);', 'usb_withdraw(&to_pc, to_pc.odd);'),
  ],
  ['the 48 MHz are not started', /not ready/, defect('clocks.c', 'REGISTER(CLK_USB_CTRL) = CLK_ENABLE;', '')],
  [
    'what is unknown is not refused',
    /ms in the data stage/,
    defect('usb-control.c', '  REGISTER(to_pc.control) = BUFFER_STALL;\n', ''),
  ],
  [
    'the stall of endpoint 0 is not armed',
    /ms in the data stage/,
    defect('usb-control.c', '  REGISTER(USB_STALL_ARM) = 1;\n', ''),
  ],
  [
    'more is sent than was asked for',
    /bytes for a request of/,
    defect('usb-control.c', 'transfer.left = length < most ? length : most;', 'transfer.left = length;'),
  ],
  [
    'output is kept while nobody listens',
    /for a program that was gone/,
    defect('usb.c', 'if (!usb_control.open || suspended) {', 'if (suspended) {'),
  ],
  [
    'the end for notices is off',
    /notices answers none/,
    defect('usb.c', 'REGISTER(USB_END_IN(USB_NOTICES)) = on ?', 'REGISTER(USB_END_IN(USB_NOTICES)) = on && false ?'),
  ],
  [
    'a buffer is given back before its last byte is read',
    /buffer that the controller has/,
    defect(
      'usb.c',
      '  uint8_t byte = usb_get(&from_pc, taken++);\n  if (taken == received) awaitPacket();',
      [
        '  if (taken + 1u == received) {',
        '    uint32_t last = taken;',
        '    awaitPacket();',
        '    return usb_get(&from_pc, last);',
        '  }',
        '  uint8_t byte = usb_get(&from_pc, taken++);',
      ].join('\n'),
    ),
  ],
  [
    'the pull-up comes before the rest',
    /not ready/,
    defect(
      'usb.c',
      '  REGISTER(USB_MUXING) = MUXING_TO_PHY;\n',
      '  REGISTER(USB_SIE_CTRL) = SIE_PULL_UP;\n  REGISTER(USB_MUXING) = MUXING_TO_PHY;\n',
    ),
  ],
  [
    'endpoint 0 does not say that its buffers are done',
    /no answer in the setup stage/,
    defect(
      'usb.c',
      'REGISTER(USB_SIE_CTRL) = SIE_STATUS_OF_EP0 | SIE_PULL_UP;',
      'REGISTER(USB_SIE_CTRL) = SIE_PULL_UP;',
    ),
  ],
  [
    'a status that ends a reply early is not looked at',
    /changed while it is available|status stage/,
    defect('usb-control.c', '  usb_give(&from_pc, 0, USB_PACKET);\n  transfer.sending', '  transfer.sending'),
  ],
];

describeAgainst(ARM_GCC, 'the USB driver of the port', (gcc) => {
  it('bears a strict PC: packets of every length, lost handshakes, programs that come and go, plugs', async () => {
    expect(await complaint(buildPortImage(gcc, 'usb-box'))).toBe('');
  });

  it.each(DEFECTS)('planted: %s', async (_, words, planted) => {
    expect(await complaint(buildPortImage(gcc, 'usb-box', planted))).toMatch(words);
  });
});
