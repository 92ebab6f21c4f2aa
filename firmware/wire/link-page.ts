/** `hardware-notes/link.gen.md`: the link, for whoever writes a client of the box without the source of this one. */
import {
  ANSWER,
  BAUD_AT_START,
  BOOT_ROWS,
  BOX_STATES,
  EVENT_ROWS,
  FRAME_EXTRA,
  type LayoutRow,
  LOCKSTEP_KEPT,
  layoutRow,
  PAYLOAD_MOST,
  placed,
  SERVICE_ROWS,
  SETTLED_TICK,
  STATUS_ROWS,
} from './link-rows.js';
import { FORMAT_NUMBER_ROWS, numberOf, USB_SERIAL_PREFIX } from './number-rows.js';
import { placedInputs, placedOutputs } from './tick-rows.js';

/** A frame as it must come out: what, service, status, sequence, payload and line in hexadecimal. A test encodes each. */
export const GOLDEN_FRAMES: readonly (readonly [string, number, number, number, string, string])[] = [
  ['a ping', 2, 0, 1, '', '0202020105d626569200'],
  ['its answer, tick 1000', 130, 0, 1, 'e8030000', '0282020103e8030105e559edae00'],
  ['parameter 2 staged as 60.0', 5, 0, 515, '0200000000007042', '02050403020201010101077042cd7c7fd300'],
  [
    'its refusal: `range`, of parameter 2',
    133,
    3,
    515,
    '0000020000000000ffff0000',
    '05850303020102020101010103ffff01057f6337a300',
  ],
  ['`loader-enter` refused: `key`, no payload', 148, 6, 4, '', '04940604055910877300'],
  ['image bytes 0, 1, 2, 3 at offset 0', 22, 0, 65534, '0000000000010203', '021603feff01010101080102031d67c77500'],
];

/** How long who waits, ms; `where` holds the same number in the C, which a test looks for. */
export const LINK_TIMES: readonly {
  readonly ms: number;
  readonly meaning: string;
  readonly where: readonly [string, string];
}[] = [
  {
    ms: 150,
    meaning:
      'after a start the loader listens: an `identity` in this time keeps it running, otherwise the image starts',
    where: ['firmware/ports/rp2040/loader/main.c', 'LISTEN_us 150000u'],
  },
  {
    ms: 10_000,
    meaning: 'without a whole frame for this long the loader starts the image, if there is one to start',
    where: ['firmware/ports/rp2040/loader/main.c', 'IDLE_us 10000000u'],
  },
  {
    ms: 1000,
    meaning: 'without a whole frame for this long the loader takes the line back to its speed at the start',
    where: ['firmware/ports/rp2040/loader/main.c', 'SPEED_us 1000000u'],
  },
  {
    ms: 1000,
    meaning:
      'without a whole frame for this long the box stops telemetry, forgets staged values and takes the line back to its speed at the start',
    where: ['firmware/box/link.c', 'SILENCE_ms 1000u'],
  },
  {
    ms: 2000,
    meaning: 'without a lockstep request for this long the box ends lockstep',
    where: ['firmware/box/lockstep.c', 'SILENCE_ms 2000u'],
  },
  {
    ms: 50,
    meaning: 'from the answer to `loader-enter` or `restart` of a box until it restarts, at the earliest',
    where: ['firmware/box/link.c', 'LAST_BYTES_ms 50u'],
  },
];

/** What a client does about a refusal, by the name of its status. */
const CLIENT_DOES: Readonly<Record<string, string>> = {
  done: 'go on',
  unknown:
    'ask `identity`: the loader answers instead of the box, or the other way round (it has restarted), or the version differs',
  length: 'mend the request: its payload does not have the length of its layout',
  range: 'give a value inside its range ([parameters](parameters.gen.md))',
  id: 'leave the parameter out: this firmware does not have it',
  contradiction: 'change one of the two parameters that the answer names',
  key: 'tell the person to turn the arm key off',
  busy: 'of the box: `state` tells the mode or the fault; after a fault, `desk-begin`. Of the loader: ask again in 10 ms',
  voltage: 'tell the person; on a board without a supply, `desk-begin`',
  lockstep: 'wait two seconds: the session before has not ended it',
  'not-begun':
    'begin: `lockstep-begin`, `update-begin`, `desk-begin`; in the middle of the work the box has restarted or the key was turned',
  board: 'use an image for this board',
  format: 'use an image that begins with `SNDF` and has a format that this loader knows',
  'too-long': 'use an image for this board',
  place: 'go on at the place that the answer names (`received`); in lockstep at the first tick without an answer',
  checksum: 'send everything again; then look at the file',
  hash: 'use another file: its head names another image than its body is',
  incomplete: 'send the bytes from `received` on',
  flash: 'try again once; then the chip is worn',
  wired: 'the trial is for a board that is not wired: take its plugs out',
  'nothing-staged': 'stage values first: a second of silence forgets them',
  speed: 'ask for a speed between 9600 and 2000000',
  'other-host':
    'wait: lockstep, staged values and the stream belong to the way over which they were begun until they end or that way is silent for a second',
};

const line = (cells: readonly (string | number)[]): string => `| ${cells.join(' | ')} |`;
const table = (titles: readonly string[], rows: readonly (readonly (string | number)[])[]): string[] => [
  line(titles),
  line(titles.map(() => '---')),
  ...rows.map(line),
  '',
];
const code = (text: string): string => `\`${text}\``;
const orNone = (text: string): string => (text === '' ? '–' : code(text));

/** Layouts that requests and answers use, with the records in them, each once. */
function layouts(): LayoutRow[] {
  const names = new Set<string>();
  for (const { request, answer } of SERVICE_ROWS) {
    for (const name of [request, answer]) {
      if (name === '') continue;
      names.add(name);
      if (layoutRow(name).repeats !== '') names.add(layoutRow(name).repeats);
    }
  }
  return [...names].map(layoutRow);
}

/** Name, length and fields of a layout: offset, name, type, meaning. */
function layoutCells(row: LayoutRow): [string, string, string] {
  const more = row.repeats === '' ? '' : `${code(row.repeats)}, any number`;
  if (row.fields.length === 0) return [code(row.name), '0', more];
  const { fields, bytes } = placed(row);
  const lines = fields.map(({ offset, name, type, count, meaning }) =>
    [offset, code(name), count === 1 ? type : `${type} × ${count}`, meaning].join(' ').trimEnd(),
  );
  return [code(row.name), String(bytes), [...lines, ...(more === '' ? [] : [`${bytes} ${more}`])].join('<br>')];
}

/** Services that are answered alike share a line. */
function stateCells(): readonly (readonly string[])[] {
  const alike = new Map<string, { readonly names: string[]; readonly answers: readonly string[] }>();
  for (const { name, by, refused } of SERVICE_ROWS) {
    if (name === 'telemetry-row') continue;
    const answers = BOX_STATES.map(([state]) => {
      const of_loader = state === 'loader-key';
      if (by !== 'both' && (by === 'loader') !== of_loader) return code('unknown');
      const status = of_loader && by === 'both' ? undefined : refused[state];
      return status === undefined ? 'done' : code(status);
    });
    const key = answers.join();
    const row = alike.get(key) ?? { names: [], answers };
    row.names.push(code(name));
    alike.set(key, row);
  }
  return [...alike.values()].map(({ names, answers }) => [names.join(' '), ...answers]);
}

const usbNumber = (name: string): string =>
  numberOf(FORMAT_NUMBER_ROWS, name).toString(16).toUpperCase().padStart(4, '0');

const USB: readonly string[] = [
  '## The USB port of the box',
  '',
  'Beside the serial line the box has a serial port of its own on USB (class CDC-ACM, no driver). Both work at once, with the same services.',
  '',
  `- **Known by its serial number**, \`${USB_SERIAL_PREFIX}\` and the 16 hexadecimal digits of the flash chip; vendor ${usbNumber('USB_VENDOR')} and product ${usbNumber('USB_PRODUCT')} are of others too.`,
  '- **Without a speed**: line codings and `line-speed` change nothing. A program must set DTR; until then the box discards what it would send.',
  '- **Answers go back the way the request came**, rows the way that asked for them. What one host has in hand is refused to the other (`other-host`).',
  '- **It goes with every restart of the box** and comes back within a second, perhaps under another name: after `restart` or `loader-enter` close it,',
  '  look for the serial number for 5 s, open it, ask `identity`. A loader that goes on to the image shows no port; one that stays does.',
  '- **At the desk only**: a bare cable ties the logic zero to the earth of the computer ([grounding](grounding.md)); the event `key-usb` tells it.',
  '- **`standoff emulate --usb`** has it on TCP: the serial number and a byte 0, which is no frame, greet who connects; closed without: no port now.',
  '',
];

const SEQUENCES: readonly string[] = [
  '## Step by step',
  '',
  'Every request is sent again when its answer does not come; the same sequence number makes the second answer of a commit the first one.',
  '',
  '**Find out who answers.** Open the line at the speed of the start, send `identity`. `in_loader` 1 is the loader. A loader with an image',
  '(`slot` is not 255) starts it on `restart`; wait 400 ms without sending, then ask again: an `identity` sooner keeps the loader running:',
  'where `in_loader` is still 1 after a `restart`, send `restart` again. One that was repeated for a lost answer may reach the started box: `not-begun` means that it runs.',
  '',
  '**Lead a box out of a fault.** `state`: where `fault` is not 0 or the flag NEAR_ZERO is missing, changes are refused. With the key off,',
  '`desk-begin`; from then on outputs rest and only the key refuses. What is committed counts after the restart (until then lockstep runs without it, and `parameters-read` gives it). End it by `restart`, wait',
  '400 ms, ask `identity`.',
  '',
  '**Set parameters.** `parameters-stage` without a value forgets what was staged before; then stage values, at most 32 a frame;',
  '`parameters-check`; `parameters-commit`, which takes up to half a second for the flash chip. All of them count, or none.',
  '',
  '**Telemetry.** `telemetry` with `every_ms`; rows then come by themselves as `telemetry-row`, with a sequence of their own: a step of more than',
  'one is rows that were lost. Send something at least once a second, such as `ping`, or it stops. `every_ms` 0 ends it.',
  '',
  '**Change the speed.** `line-speed`; its answer comes at the old speed, all later bytes at the new one. Send a `ping` there within a second.',
  '',
  '**Lockstep.** `lockstep-begin`; then `lockstep-ticks` with `first` counting from 0 and the input blocks of some ticks, as many as their output',
  `blocks fill an answer (${Math.floor(PAYLOAD_MOST / placedOutputs().bytes)}). The module starts from power-up with the parameters in use; \`lockstep-parameter\``,
  `changes them, -1 loads the defaults, -2 powers it up. The outputs of the last ${LOCKSTEP_KEPT} ticks are given again to who asks again. \`lockstep-end\`.`,
  '',
  `**Flash an image.** The file begins with \`image_head\` (${placed(layoutRow('image_head')).bytes} bytes), filled up to 256 with 255; then comes the body, \`length\` bytes, a multiple of 4. In a file \`generation\` is 0.`,
  '',
  '1. `loader-enter` (out of a fault `desk-begin` before it); the box restarts into the loader. Send nothing for 100 ms (answers under way put the restart off),',
  '   then ask `identity` until `in_loader` is 1, with 100 ms of silence before each.',
  '2. `update-begin` with the `image_head` of the file, unchanged. `busy`: again in 10 ms. The answer says how much of this body it has: `received`.',
  '3. `update-write` with `offset` and up to 256 bytes of the body, in order from `received` on. Several may be under way. `place`: go on at',
  '   `received`. Flash is written meanwhile.',
  '4. `update-finish`: `busy` while the chip is written and verified, ask again in 10 ms, for up to 30 s; `done` once the image is marked.',
  '5. `slot` with the slot of that answer: `body_sha256` is what the loader has computed of its flash chip. It must be the `image_sha256` of the head.',
  '6. `restart`, wait 400 ms without sending, `identity`: `in_loader` 0 and the `image_sha256` of the head. `boot` `rolled-back` is the image before: the',
  '   new one has failed three times in a row. While the loader answers after it, `restart` again; `image-fails` goes back by itself once the key is off.',
  '',
  'The old image stays valid until step 4 is done: whatever breaks before leaves it. After a broken line begin at `identity` again; `unknown` in',
  'answer to an `update-…` means that the box has restarted: begin at step 1. An image that runs already is not written: step 2 answers with all of it',
  'received, step 4 with its slot. A loader that answers `slot` with `unknown` is older: it neither computes a SHA-256 nor goes back.',
  '',
];

/** `link.gen.md`. */
export function linkPage(): string {
  const magic = numberOf(FORMAT_NUMBER_ROWS, 'IMAGE_MAGIC').toString(16);
  return [
    '<!-- Generated from the rows in firmware/wire by `npm run generate`. Do not edit. -->',
    '# The link',
    '',
    '> Voltages of an open plasma arc kill. Prove circuits dead before you touch them, with a meter proved before and after',
    '> ([how](dead.md)). Local electrical code and licensed practice come first. This is not an instruction to open a supply.',
    '',
    'What goes over the line between box and host. A client in Python that was written from this page alone is run against the emulated box',
    'by a test. All numbers are little-endian; f32 is IEEE 754, text is ASCII filled with zeros.',
    '',
    '## Line and frames',
    '',
    `8 data bits, no parity, 1 stop bit, ${BAUD_AT_START} bit/s after every start; over TCP and [USB](#the-usb-port-of-the-box) the same bytes. A frame is`,
    '',
    ...table(
      ['offset', 'field', 'type', 'meaning'],
      [
        [0, 'service', 'u8', `code of the service; in every frame that the box sends ${ANSWER} more`],
        [1, 'status', 'u8', '0 in a request; in an answer 0 or why it is refused'],
        [2, 'sequence', 'u16', 'any number; the answer has that of its request'],
        [
          4,
          'payload',
          'bytes',
          `at most ${PAYLOAD_MOST}; the layout of the service. A refusal has none, but for the services that answer \`staged\` or \`update_state\``,
        ],
        [
          'last 4',
          'crc',
          'u32',
          'CRC-32 of everything before it: reflected polynomial EDB88320, begun with FFFFFFFF, inverted at the end; "123456789" gives CBF43926',
        ],
      ],
    ),
    `Header and CRC are ${FRAME_EXTRA} bytes. On the line the frame is stuffed by COBS and ended by one byte 0: it is cut at its zeros into blocks, each block is sent`,
    'as one code (its length + 1) and its bytes; a block of 254 bytes without a zero has the code 255 and takes no zero with it. A line that is no frame is',
    'dropped in silence. One byte 0 before the first frame ends whatever the line holds.',
    '',
    ...table(
      ['frame', 'service', 'status', 'sequence', 'payload', 'on the line'],
      GOLDEN_FRAMES.map(([what, service, status, sequence, payload, bytes]) => [
        what,
        service,
        status,
        sequence,
        orNone(payload),
        code(bytes),
      ]),
    ),
    '## Services',
    '',
    ...table(
      ['code', 'service', 'who', 'request', 'answer', 'meaning'],
      SERVICE_ROWS.map((row) => [
        row.code,
        code(row.name),
        row.by,
        orNone(row.request),
        orNone(row.answer),
        row.meaning,
      ]),
    ),
    '## States',
    '',
    ...BOX_STATES.map(([state, meaning]) => `- ${code(state)}: ${meaning}`),
    '',
    'What a right request is answered with. The loader with the key off does all that it knows.',
    '',
    ...table(['service', ...BOX_STATES.map(([state]) => code(state))], stateCells()),
    '## Statuses',
    '',
    ...table(
      ['code', 'status', 'meaning', 'what a client does'],
      STATUS_ROWS.map((row) => [row.code, code(row.name), row.meaning, CLIENT_DOES[row.name]!]),
    ),
    '## Times',
    '',
    ...table(
      ['ms', 'what'],
      LINK_TIMES.map(({ ms, meaning }) => [ms, meaning]),
    ),
    `An answer comes within some milliseconds, that of a commit within half a second. Ask again after 250 ms. \`state\` is settled ${SETTLED_TICK} ticks after a start.`,
    '',
    ...USB,
    ...SEQUENCES,
    '## Versions',
    '',
    `\`identity\` has \`protocol\`: ${numberOf(FORMAT_NUMBER_ROWS, 'PROTOCOL')} here. It grows when a layout changes; a new service alone does not change it, and a box without the`,
    `service answers \`unknown\`. An image begins with the u32 ${magic} (the bytes SNDF) and has format ${numberOf(FORMAT_NUMBER_ROWS, 'IMAGE_FORMAT')}. Codes are never reused.`,
    '',
    '## Layouts',
    '',
    'A field is its offset, its name, its type and what it means; the bytes are those before records that repeat.',
    '',
    ...table(['layout', 'bytes', 'fields'], layouts().map(layoutCells)),
    `The input block of the module (${placedInputs().bytes} bytes) has these, and is 0 elsewhere; the output block has ${placedOutputs().bytes} bytes:`,
    '',
    ...table(
      ['offset', 'input', 'type'],
      [...placedInputs().rows]
        .sort((left, right) => left.offset - right.offset)
        .map((row) => [
          row.offset,
          code(row.name),
          row.half_words === undefined ? 'u32 or i32' : `u16 × ${row.half_words}`,
        ]),
    ),
    '## Codes',
    '',
    'Modes, faults, refusals, flags and the bits of inputs and outputs: [recorded.gen.md](recorded.gen.md); parameters:',
    '[parameters.gen.md](parameters.gen.md).',
    '',
    ...table(
      ['code', 'values'],
      [
        ['BOOT, why it started', BOOT_ROWS.map((row) => `${row.code} ${code(row.name)} ${row.meaning}`).join('<br>')],
        ['EVENT, its kind', EVENT_ROWS.map((row) => `${row.code} ${code(row.name)} ${row.meaning}`).join('<br>')],
      ],
    ),
  ].join('\n');
}
