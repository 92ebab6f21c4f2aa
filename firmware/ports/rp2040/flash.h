// The serial NOR flash chip, by direct commands over the SSI. Everything runs from RAM: during a command the chip cannot be
// read as memory.
#ifndef STANDOFF_FLASH_H
#define STANDOFF_FLASH_H
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

// The interface as memory at the speed for this clock: the boot block set it up for the slow one at the start.
void flash_start(void);
// Start an erase of SECTOR_BYTES or BLOCK_BYTES, or a program of at most a page's rest, at a place counted from the start of
// the chip. The chip is busy afterwards and must not be read until flash_busy() says no.
void flash_erase_begin(uint32_t at, uint32_t bytes);
void flash_program_begin(uint32_t at, const uint8_t *bytes, size_t length);
// Reads the chip's status; once it is ready its contents can be read.
bool flash_busy(void);
// Ends a command that was broken off in its middle, and waits until the chip is ready, at most so long. From any place, the
// last thing before a reset: the boot ROM gives a busy chip up.
void flash_settle(uint32_t most_us);
// Not while the chip is busy.
void flash_read(uint32_t at, void *bytes, size_t length);
// The number that the maker gave this one chip; all ones from a chip without the command. Not while the chip is busy.
#define FLASH_NUMBER_BYTES 8u
void flash_number(uint8_t number[FLASH_NUMBER_BYTES]);

#endif
