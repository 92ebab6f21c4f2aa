import { boardNumber } from './board-rows.js';

/** What firmware/image/build.mjs must know of a port. Paths start at the port's folder. */
export interface Port {
  /** What the names of compiler, linker and their companions begin with. */
  readonly tools: string;
  /** Flags that name the core to compiler and linker. */
  readonly core: readonly string[];
  /** Flags of single sources, besides. */
  readonly flags: Readonly<Record<string, readonly string[]>>;
  /** Linker scripts. */
  readonly scripts: { readonly boot: string; readonly loader: string; readonly image: string };
  /** What the chip's ROM starts: alone in its block. */
  readonly boot: readonly string[];
  /** The loader's start and hardware; firmware/loader is added. */
  readonly loader: readonly string[];
  /** Start of the image and port.h; firmware/box is added. */
  readonly image: readonly string[];
  /** Of firmware/box/runtime: what this core needs. */
  readonly runtime: readonly string[];
  /** Most static memory of the box, bytes. */
  readonly static_ram_most: number;
  /** A number of the board by its name. */
  readonly number: (name: string) => number;
}

/** No tick and no interrupt runs them: rather short than fast. */
const IDLE_ONLY = [
  'clocks.c',
  'desk.c',
  'flash.c',
  'image.c',
  'kept.c',
  'parameters.c',
  'services.c',
  'slot.c',
  'store.c',
  'usb-control.c',
];

/** The RP2040 with 2 MiB of serial NOR flash; gcc-arm-none-eabi. */
export const PORT: Port = {
  tools: 'arm-none-eabi-',
  core: ['-mcpu=cortex-m0plus', '-mthumb'],
  flags: {
    ...Object.fromEntries(IDLE_ONLY.map((name) => [name, ['-Os']])),
    // Loops of the module run ten times a tick: what is taken out of them costs more registers than it spares.
    'control.c': ['-fno-tree-loop-im'],
    // It defines what a compiler may call for a loop: the loops in it must stay loops.
    'memory.c': ['-fno-builtin', '-fno-tree-loop-distribute-patterns'],
  },
  scripts: { boot: 'loader/boot-block.ld', loader: 'loader/loader.ld', image: 'image.ld' },
  boot: ['loader/boot-block.S'],
  loader: [
    'loader/start.S',
    'loader/main.c',
    'clocks.c',
    'flash.c',
    'memory.c',
    'pins.c',
    'uart.c',
    'usb.c',
    'usb-control.c',
  ],
  image: [
    ...['start.S', 'clocks.c', 'flash.c', 'memory.c', 'pins.c'],
    ...['port.c', 'sampling.c', 'stack.c', 'steps.c', 'uart.c', 'usb.c', 'usb-control.c'],
  ],
  runtime: ['division.c', 'rounding.c', 'single.S'],
  static_ram_most: 32 * 1024,
  number: boardNumber,
};
