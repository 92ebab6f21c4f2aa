// Generated from the rows in firmware/ports/rp2040 by `npm run generate`. Do not edit.
#ifndef STANDOFF_BOARD_GEN_H
#define STANDOFF_BOARD_GEN_H
#include "wire.gen.h"

#define BOARD_KIND 8256u // RP2040 with 2 MiB of serial NOR flash
#define FLASH_BASE 0x10000000u // where the processor sees the flash chip
#define FLASH_BYTES 0x200000u // size of the flash chip
#define SECTOR_BYTES 4096u // smallest erase
#define BLOCK_BYTES 0x10000u // largest erase
#define PAGE_BYTES 256u // largest program
#define BOOT_BLOCK_BYTES 256u // second-stage boot block with its own CRC
#define LOADER_AT 0u // boot block, then the loader
#define LOADER_BYTES 16384u // room for both
#define KEPT_AT 16384u // parameters: three copies, a sector each
#define SLOT_0_AT 0x10000u // first image slot
#define SLOT_1_AT 0x30000u // second image slot
#define SLOT_BYTES 0x11000u // head page and body, in whole sectors
#define BODY_MOST 0x10000u // longest body of an image: 64 KiB
#define BODY_RAM_AT 0x20000000u // the loader copies the body here; box code runs from memory, not from flash
#define BOX_RAM_AT 0x20010000u // variables and stack of the box
#define BOX_RAM_BYTES 32768u // at most 32 KiB
#define KEPT_RAM_AT 0x20018000u // event ring and causes; kept through a reset, cleared after a power cut
#define KEPT_RAM_BYTES 16384u
#define LOADER_RAM_AT 0x20020000u // variables, code in memory and stack of the loader
#define LOADER_RAM_BYTES 32768u
#define RECEIVE_RAM_AT 0x20028000u // the image as it is received
#define CLOCK_HZ 0x7735940u // processor clock
#define READING_Hz 10000u // converter readings a second
#define Z_STEPS_MOST 81u // Z steps that the pulses of a millisecond leave room for
#define WATCHDOG_ms 10u // without a tick for this long the box starts again
#define BAUD_LEAST 9600u // slowest speed of the line, bit/s
#define BAUD_MOST 0x1e8480u // fastest speed of the line, bit/s
#define LINK_WAYS 2u // ways to a host: 0 the serial line, 1 USB

#endif
