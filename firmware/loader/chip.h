// The flash chip as the loader's logic sees it: one operation at a time, begun here and finished when the chip is no
// longer busy. Implemented by the chip's driver on the board, and in tests by a model whose power fails.
#ifndef STANDOFF_CHIP_H
#define STANDOFF_CHIP_H
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

// SECTOR_BYTES or BLOCK_BYTES, from a multiple of itself.
void chip_erase_begin(uint32_t at, uint32_t bytes);
void chip_program_begin(uint32_t at, const uint8_t *bytes, size_t length);
bool chip_busy(void);
// Not while busy.
void chip_read(uint32_t at, void *bytes, size_t length);

#endif
