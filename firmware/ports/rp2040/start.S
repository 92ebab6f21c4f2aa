// The image's first words: stack pointer, vectors, entry. The loader has copied the image to RAM, read the first two words,
// and jumped here.
  .syntax unified
  .cpu cortex-m0plus
  .thumb

  .section .vectors, "a"
  .word stack_top
  .word image_start
  .word fault          // 2 NMI
  .word fault          // 3 hard fault
  .rept 7
  .word fault          // 4 to 10: not on this processor
  .endr
  .word fault          // 11 SVCall
  .word fault
  .word fault
  .word tick_interrupt // 14 PendSV
  .word fault          // 15 SysTick
  .word sampling_interrupt // timer, alarm 0
  .word steps_interrupt    // timer, alarm 1
  .rept 18
  .word fault
  .endr
  .word uart_interrupt // 20
  .rept 11
  .word fault
  .endr

  .text
  .thumb_func
  .global image_start
image_start:
  ldr r0, =variables_begin
  ldr r1, =variables_end
  movs r2, #0
1:
  cmp r0, r1
  bhs 2f
  stmia r0!, {r2}
  b 1b
2:
  bl port_start
  bl box_main
3:
  b 3b

  // An unexpected interrupt is a fault too. The stack itself may be broken: reset it first.
  .thumb_func
fault:
  mov r0, sp
  ldr r1, =stack_top
  mov sp, r1
  bl hard_fault
  .pool
