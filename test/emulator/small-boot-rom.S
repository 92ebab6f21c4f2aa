// A boot ROM of our own, for the test of the way through one: vector table, the header's magic, the serial interface set up for
// plain reads, the first 256 bytes of flash copied to the end of memory, and a jump there. It checks nothing.
  .syntax unified
  .cpu cortex-m0plus
  .thumb

  .text
  .word 0x20041f00 // stack
  .word start + 1
  .word 0, 0
  .byte 'M', 'u', 1, 3
  .hword 0, 0
  .thumb_func
start:
  ldr r3, =0x18000000 // SSI
  movs r0, #0
  str r0, [r3, #0x08] // SSIENR
  movs r0, #4
  str r0, [r3, #0x14] // BAUDR
  ldr r0, =0x001f0300 // CTRLR0
  str r0, [r3]
  movs r0, #0
  str r0, [r3, #0x04] // CTRLR1
  ldr r0, =0x03000218 // SPI_CTRLR0
  ldr r1, =0x180000f4
  str r0, [r1]
  movs r0, #1
  str r0, [r3, #0x10] // SER
  str r0, [r3, #0x08] // SSIENR
  ldr r0, =0x10000000
  ldr r1, =0x20041f00
  movs r2, #64
1:
  ldmia r0!, {r3}
  stmia r1!, {r3}
  subs r2, #1
  bne 1b
  mov lr, r2
  ldr r1, =0x20041f01
  bx r1
  .pool
  .org 16384, 0xff
