// A flash chip on the desk, for the loader's logic: erase sets bits, program clears them, and the power may fail before,
// within or after any operation.
#ifndef CHIP_MODEL_H
#define CHIP_MODEL_H
#include <setjmp.h>
#include <stdbool.h>
#include <stdint.h>

#include "board.gen.h"

typedef enum { CUT_BEFORE, CUT_WITHIN, CUT_AFTER } CutMoment;

extern uint8_t chip_bytes[FLASH_BYTES];
extern uint32_t chip_operations; // begun since the last power-up
extern uint32_t chip_cut_at;     // number of the operation at which the power fails; UINT32_MAX: never
extern CutMoment chip_cut_moment;
extern jmp_buf chip_dark; // where the power cut goes to
extern bool chip_deaf;    // takes commands and does nothing: a chip that is worn out or write-protected

// Power-up: nothing under way, operations counted from 0.
void chip_power_up(void);
uint32_t chip_random(void);
void chip_seed(uint32_t seed);

#endif
