/**
 * The RP2040 board: places in flash and memory, clocks, pins. The C of box and loader has them from `board.gen.h`;
 * emulator, link and notes from here.
 */
import { type NumberRow, numberOf, numbers } from '../../wire/number-rows.js';

/** Z steps that the pulses of a millisecond leave room for: what this board tells the module. */
export const Z_STEPS_MOST = 81;

export const BOARD_NUMBER_ROWS: readonly NumberRow[] = numbers([
  ['BOARD_KIND', 0x2040, 'RP2040 with 2 MiB of serial NOR flash'],
  ['FLASH_BASE', 0x10000000, 'where the processor sees the flash chip'],
  ['FLASH_BYTES', 0x200000, 'size of the flash chip'],
  ['SECTOR_BYTES', 4096, 'smallest erase'],
  ['BLOCK_BYTES', 0x10000, 'largest erase'],
  ['PAGE_BYTES', 256, 'largest program'],
  ['BOOT_BLOCK_BYTES', 256, 'second-stage boot block with its own CRC'],
  ['LOADER_AT', 0, 'boot block, then the loader'],
  ['LOADER_BYTES', 0x4000, 'room for both'],
  ['KEPT_AT', 0x4000, 'parameters: three copies, a sector each'],
  ['SLOT_0_AT', 0x10000, 'first image slot'],
  ['SLOT_1_AT', 0x30000, 'second image slot'],
  ['SLOT_BYTES', 0x11000, 'head page and body, in whole sectors'],
  ['BODY_MOST', 0x10000, 'longest body of an image: 64 KiB'],
  ['BODY_RAM_AT', 0x20000000, 'the loader copies the body here; box code runs from memory, not from flash'],
  ['BOX_RAM_AT', 0x20010000, 'variables and stack of the box'],
  ['BOX_RAM_BYTES', 0x8000, 'at most 32 KiB'],
  ['KEPT_RAM_AT', 0x20018000, 'event ring and causes; kept through a reset, cleared after a power cut'],
  ['KEPT_RAM_BYTES', 0x4000, ''],
  ['LOADER_RAM_AT', 0x20020000, 'variables, code in memory and stack of the loader'],
  ['LOADER_RAM_BYTES', 0x8000, ''],
  ['RECEIVE_RAM_AT', 0x20028000, 'the image as it is received'],
  ['CLOCK_HZ', 125000000, 'processor clock'],
  ['READING_Hz', 10000, 'converter readings a second'],
  ['Z_STEPS_MOST', Z_STEPS_MOST, 'Z steps that the pulses of a millisecond leave room for'],
  ['WATCHDOG_ms', 10, 'without a tick for this long the box starts again'],
  ['BAUD_LEAST', 9600, 'slowest speed of the line, bit/s'],
  ['BAUD_MOST', 2000000, 'fastest speed of the line, bit/s'],
  ['LINK_WAYS', 2, 'ways to a host: 0 the serial line, 1 USB'],
]);

/** @throws Error when the board has no such number */
export const boardNumber = (name: string): number => numberOf(BOARD_NUMBER_ROWS, name);

export interface PinRow {
  readonly gpio: number;
  readonly name: string;
  readonly direction: 'in' | 'out' | 'analogue' | 'serial';
  /** 'high' or 'low': the level at which the word is true; '' where it does not apply. */
  readonly active: 'high' | 'low' | '';
  /** Resistor in the chip. Outputs rest by a resistor outside, which holds through a reset. */
  readonly pull: 'up' | 'down' | 'none';
  /** INPUT_* or OUTPUT_* of layout.ts that it carries; '' for none. */
  readonly carries: string;
  readonly meaning: string;
}
type BarePin = readonly [number, string, PinRow['direction'], PinRow['active'], PinRow['pull'], string, string];
const pin = ([gpio, name, direction, active, pull, carries, meaning]: BarePin): PinRow => ({
  gpio,
  name,
  direction,
  active,
  pull,
  carries,
  meaning,
});

/*
 * Inputs come through isolators whose output pulls low when current flows. What permits (key, stop chain, torch seated)
 * is true only with current: a broken wire reads as key off, stop chain open, torch knocked out.
 */
export const PIN_ROWS: readonly PinRow[] = (
  [
    [0, 'LINK_TX', 'serial', '', 'none', '', 'UART0 to the host’s isolated adapter'],
    [1, 'LINK_RX', 'serial', '', 'up', '', 'UART0 from the host'],
    [2, 'TRIGGER', 'out', 'high', 'down', 'OUTPUT_TRIGGER', 'pulse train into the charge pump'],
    [3, 'Z_STEP', 'out', 'high', 'down', '', 'one rising edge a step'],
    [4, 'Z_DIRECTION', 'out', 'high', 'down', '', 'high: up'],
    [5, 'X_STEP', 'in', 'high', 'down', '', 'counted by PWM slice 2, input B'],
    [6, 'X_DIRECTION', 'in', 'high', 'down', '', 'high: positive'],
    [7, 'Y_STEP', 'in', 'high', 'down', '', 'counted by PWM slice 3, input B'],
    [8, 'Y_DIRECTION', 'in', 'high', 'down', '', 'high: positive'],
    [9, 'Z_OWNED', 'out', 'high', 'down', 'OUTPUT_Z_OWNED', 'multiplexer: high gives Z to the box'],
    [
      10,
      'MOTION_PERMIT',
      'out',
      'high',
      'down',
      'OUTPUT_PERMIT',
      'low without power, in reset and when the wire breaks',
    ],
    [11, 'LATCHED_STOP', 'out', 'high', 'down', 'OUTPUT_LATCHED_STOP', 'high sets the latched stop'],
    [12, 'LAMP', 'out', 'high', 'down', '', 'lit: armed; blinking: fault; two flashes and a pause: desk state'],
    [13, 'KEY', 'in', 'low', 'up', 'INPUT_KEY', 'arm key on'],
    [14, 'REQUEST', 'in', 'low', 'up', 'INPUT_REQUEST', 'torch request of the motion controller'],
    [15, 'STOP_CHAIN', 'in', 'low', 'up', 'INPUT_STOP_CHAIN', 'stop chain intact'],
    [16, 'TOUCH', 'in', 'low', 'up', 'INPUT_TOUCH', 'touch-off switch closed'],
    [17, 'BREAKAWAY', 'in', 'low', 'up', 'INPUT_BREAKAWAY', 'torch seated in its holder'],
    [18, 'TOP', 'in', 'low', 'up', 'INPUT_TOP', 'Z at the top switch'],
    [19, 'HOLD', 'in', 'low', 'up', 'INPUT_HOLD', 'external hold'],
    [20, 'SUPPLY_CONTACT', 'in', 'low', 'up', 'INPUT_SUPPLY_CONTACT', 'the supply says that the arc has transferred'],
    [21, 'RESET', 'in', 'low', 'up', 'INPUT_RESET', 'reset button'],
    [22, 'RELAY', 'in', 'low', 'up', 'INPUT_RELAY', 'readback: the firing contact is closed'],
    [
      25,
      'LED',
      'out',
      'high',
      'down',
      '',
      'sign of life, on boards that have their own LED here: each tick counts for it',
    ],
    [26, 'ARC_VOLTAGE', 'analogue', '', 'none', '', 'converter channel 0'],
    [
      27,
      'REFERENCE',
      'analogue',
      '',
      'none',
      '',
      'converter channel 1: half of the converter’s reference, the 3.3 V rail',
    ],
  ] as const
).map(pin);
