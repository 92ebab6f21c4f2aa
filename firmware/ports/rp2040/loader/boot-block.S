// The RP2040's second stage. The boot ROM copies the first 256 bytes of flash to the end of memory, checks their CRC-32
// (appended by the build script) and jumps here (data sheet 2.8.1.3). Sets the flash interface up for plain 03h reads on
// one data line, which every chip of the 25 series supports (4.10.9), and jumps to the program after this block.
  .syntax unified
  .cpu cortex-m0plus
  .thumb

  .text
  .thumb_func
  .global boot_block
boot_block:
  ldr r3, =0x18000000 // SSI
  movs r0, #0
  str r0, [r3, #0x08] // SSIENR: off, to be set up
  movs r0, #2
  str r0, [r3, #0x14] // BAUDR: half of the processor clock, which is the ring oscillator's, at most 12 MHz (2.17)
  ldr r0, =0x001f0300 // CTRLR0: words of 32 bits, EEPROM read, one data line
  str r0, [r3]
  movs r0, #0
  str r0, [r3, #0x04] // CTRLR1: one word a read
  ldr r0, =0x03000218 // SPI_CTRLR0: 03h, 8 bits of instruction, 24 of address
  ldr r1, =0x180000f4
  str r0, [r1]
  movs r0, #1
  str r0, [r3, #0x10] // SER: the one chip
  str r0, [r3, #0x08] // SSIENR: on
  ldr r0, =0x10000100
  ldr r1, =0xe000ed08 // vector table offset
  str r0, [r1]
  ldr r1, [r0]
  msr msp, r1
  ldr r1, [r0, #4]
  bx r1
  .pool
