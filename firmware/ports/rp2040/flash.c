// Commands as common to serial NOR flash chips of the 25 series (JEDEC command set as in their data sheets: 06h write
// enable, 05h read status, 02h page program, 20h sector erase, D8h block erase, 03h read, 4Bh unique number). SSI: RP2040 data sheet 4.10.
#include "flash.h"

#include "board.gen.h"
#include "clocks.h"
#include "registers.h"

#define WRITE_ENABLE 0x06u
#define READ_STATUS 0x05u
#define PAGE_PROGRAM 0x02u
#define SECTOR_ERASE 0x20u
#define BLOCK_ERASE 0xd8u
#define READ_NUMBER 0x4bu
#define NUMBER_AFTER 5u // bytes: the command and four that mean nothing
#define STATUS_BUSY_BIT 1u

// Window of the chip that bypasses the cache (2.6.3.2), so that no stale data is read after a write.
#define UNCACHED 0x13000000u
// Clock of the chip: CLOCK_HZ / 4 = 31 MHz, below what 03h allows in any of them.
#define SSI_DIVISOR 4u
// Frames of 8 bits both ways for commands.
#define COMMAND_MODE (7u << 16)
// As memory: 32-bit words, 03h and a 24-bit address, one data line (the boot block does the same).
#define MEMORY_MODE ((31u << 16) | (3u << 8))
#define MEMORY_READ ((0x03u << 24) | (2u << 8) | (6u << 2))
// The receive FIFO holds 16: never more than this on the way, so that an interrupt of any length loses nothing.
#define IN_FLIGHT_MOST 14u

static bool in_commands;

static void selectChip(uint32_t level) {
  REGISTER(QSPI_SS_CTRL) = (REGISTER(QSPI_SS_CTRL) & ~CHIP_SELECT_MASK) | level;
  (void)REGISTER(QSPI_SS_CTRL); // the pad has it before the SSI goes on
}

// Sends head and bytes with the chip selected; what comes back for the last byte is returned.
static uint8_t command(const uint8_t *head, size_t head_length, const uint8_t *bytes, size_t length) {
  size_t total = head_length + length;
  size_t sent = 0, taken = 0;
  uint8_t last = 0;
  selectChip(CHIP_SELECT_LOW);
  while (taken < total) {
    uint32_t status = REGISTER(SSI_SR);
    if (sent < total && sent - taken < IN_FLIGHT_MOST && (status & SSI_TX_NOT_FULL) != 0) {
      REGISTER(SSI_DR0) = sent < head_length ? head[sent] : bytes[sent - head_length];
      sent++;
    }
    if ((status & SSI_RX_NOT_EMPTY) != 0) {
      last = (uint8_t)REGISTER(SSI_DR0);
      taken++;
    }
  }
  selectChip(CHIP_SELECT_HIGH);
  return last;
}

static void toCommands(void) {
  REGISTER(SSI_ENABLE) = 0;
  REGISTER(SSI_BAUDR) = SSI_DIVISOR;
  REGISTER(SSI_CTRLR0) = COMMAND_MODE;
  REGISTER(SSI_CTRLR1) = 0;
  REGISTER(SSI_SER) = 1;
  selectChip(CHIP_SELECT_HIGH);
  REGISTER(SSI_ENABLE) = 1;
  in_commands = true;
}

static void toMemory(void) {
  REGISTER(SSI_ENABLE) = 0;
  REGISTER(SSI_BAUDR) = SSI_DIVISOR;
  REGISTER(SSI_CTRLR0) = MEMORY_MODE;
  REGISTER(SSI_CTRLR1) = 0;
  REGISTER(SSI_SPI_CTRLR0) = MEMORY_READ;
  selectChip(0);
  REGISTER(SSI_ENABLE) = 1;
  in_commands = false;
}

void flash_start(void) { toMemory(); }

static void begin(uint8_t operation, uint32_t at, const uint8_t *bytes, size_t length) {
  const uint8_t enable = WRITE_ENABLE;
  const uint8_t head[4] = {operation, (uint8_t)(at >> 16), (uint8_t)(at >> 8), (uint8_t)at};
  toCommands();
  (void)command(&enable, 1, 0, 0);
  (void)command(head, sizeof head, bytes, length);
}

void flash_erase_begin(uint32_t at, uint32_t bytes) {
  begin(bytes == BLOCK_BYTES ? BLOCK_ERASE : SECTOR_ERASE, at, 0, 0);
}

void flash_program_begin(uint32_t at, const uint8_t *bytes, size_t length) {
  begin(PAGE_PROGRAM, at, bytes, length);
}

bool flash_busy(void) {
  const uint8_t ask[2] = {READ_STATUS, 0};
  if (!in_commands) return false;
  if ((command(ask, sizeof ask, 0, 0) & STATUS_BUSY_BIT) != 0) return true;
  toMemory();
  return false;
}

void flash_settle(uint32_t most_us) {
  if (!in_commands) return;
  // Off and on again the SSI has forgotten what it was about to send and what came.
  toCommands();
  uint32_t begun_us = clock_us();
  while (flash_busy() && clock_us() - begun_us < most_us) {
  }
}

void flash_read(uint32_t at, void *bytes, size_t length) {
  uint8_t *to = bytes;
  size_t i = 0;
  // Each access costs a whole transfer: use words where both addresses are aligned.
  if (((at | (uint32_t)(uintptr_t)bytes) & 3u) == 0) {
    for (; i + 4 <= length; i += 4) *(uint32_t *)(void *)(to + i) = REGISTER(UNCACHED + at + i);
  }
  for (; i < length; i++) to[i] = *(const volatile uint8_t *)(uintptr_t)(UNCACHED + at + i);
}

void flash_number(uint8_t number[FLASH_NUMBER_BYTES]) {
  const uint8_t ask[NUMBER_AFTER + FLASH_NUMBER_BYTES] = {READ_NUMBER};
  toCommands();
  // A command keeps only its last byte: it is asked again for each.
  for (uint32_t n = 0; n < FLASH_NUMBER_BYTES; n++) number[n] = command(ask, NUMBER_AFTER + 1u + n, 0, 0);
  toMemory();
}
