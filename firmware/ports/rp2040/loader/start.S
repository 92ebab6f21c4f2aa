// First in flash after the boot block: copies the loader to RAM and starts it there. Runs from flash, calls nothing.
  .syntax unified
  .cpu cortex-m0plus
  .thumb

  .section .stub_vectors, "a"
  .word loader_stack_top
  .word stub

  .section .stub, "ax"
  .thumb_func
  .global stub
stub:
  cpsid i
  ldr r0, =loader_in_flash
  ldr r1, =loader_begin
  ldr r2, =loader_end
1:
  ldmia r0!, {r3}
  stmia r1!, {r3}
  cmp r1, r2
  blo 1b
  ldr r2, =loader_variables_end
  movs r3, #0
2:
  cmp r1, r2
  bhs 3f
  stmia r1!, {r3}
  b 2b
3:
  ldr r0, =loader_begin
  ldr r1, =0xe000ed08 // vector table offset
  str r0, [r1]
  ldr r1, [r0]
  msr msp, r1
  ldr r1, [r0, #4]
  bx r1
  .pool

  .section .vectors, "a"
  .word loader_stack_top
  .word loader_start
  .rept 14
  .word loader_fault
  .endr
  .word alarm_interrupt // 0
  .rept 19
  .word loader_fault
  .endr
  .word uart_interrupt // 20
  .rept 11
  .word loader_fault
  .endr

  .text
  .thumb_func
loader_start:
  cpsie i
  bl loader_main

  // Nothing to save: a watchdog reset without a cause starts the newest image again.
  .thumb_func
loader_fault:
  ldr r0, =0x40058000
  ldr r1, =0x80000000
  str r1, [r0]
  b .
  .pool
