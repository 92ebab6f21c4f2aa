// Single precision without a floating-point unit: sum, difference, product and comparisons, in a third to a half of
// libgcc's time. The same bits as IEEE 754 with round half to even; what is rare (subnormal, infinite, NaN) goes
// to libgcc. The linker puts these in front of it (--wrap). A test compares them with libgcc over millions of pairs.
//
// Inside, a number is its exponent and its mantissa with the leading digit at bit 31: 24 digits and 8 to round by.
  .syntax unified
  .cpu cortex-m0plus
  .thumb
  .text

// A function that is put in front of libgcc's.
  .macro FUNCTION name
  .balign 4
  .thumb_func
  .global __wrap___aeabi_\name
  .type __wrap___aeabi_\name, %function
__wrap___aeabi_\name:
  .endm

  .section .text.single_sum, "ax", %progbits
FUNCTION fsub
  movs r2, #1
  lsls r2, r2, #31
  eors r1, r2
FUNCTION fadd
  lsls r2, r0, #1
  lsls r3, r1, #1
  cmp r2, r3
  bhs 1f
  // The larger magnitude into r0.
  mov ip, r0
  mov r0, r1
  mov r1, ip
  mov ip, r2
  mov r2, r3
  mov r3, ip
1:
  lsrs r2, r2, #24
  cmp r2, #255
  beq sum_rare
  lsrs r3, r3, #24
  beq sum_small
  push {r4, r5}
  movs r4, #1
  lsls r4, r4, #31
  movs r5, r0
  eors r5, r1
  asrs r5, r5, #31 // all ones when the signs differ
  subs r3, r2, r3
  lsls r1, r1, #8
  orrs r1, r4
  cmp r3, #8
  bls 2f
  // Digits that leave on the right are remembered in the last one.
  mov ip, r0
  movs r0, r1
  lsrs r1, r1, r3
  movs r4, r1
  lsls r4, r4, r3
  cmp r4, r0
  beq 3f
  movs r4, #1
  orrs r1, r4
3:
  movs r4, #1
  lsls r4, r4, #31
  mov r0, ip
  b 4f
2:
  lsrs r1, r1, r3
4:
  lsrs r3, r0, #31 // sign of the result
  lsls r0, r0, #8
  orrs r0, r4
  cmp r5, #0
  bne difference
  adds r0, r0, r1
  bcc sum_rounds
  // A digit more.
  movs r1, #1
  ands r1, r0
  lsrs r0, r0, #1
  orrs r0, r1
  orrs r0, r4
  adds r2, #1
  cmp r2, #255
  beq sum_infinite
sum_rounds:
  lsls r1, r0, #24
  lsrs r0, r0, #8
  cmp r1, r4
  blo 5f
  bhi 6f
  lsrs r1, r0, #1
  bcc 5f
6:
  adds r0, #1
5:
  subs r2, #1
  lsls r2, r2, #23
  adds r0, r0, r2
  lsls r3, r3, #31
  orrs r0, r3
  pop {r4, r5}
  bx lr

difference:
  subs r0, r0, r1
  beq 7f
  bmi sum_rounds
  lsrs r1, r0, #15
  bne 1f
  lsls r0, r0, #16
  subs r2, #16
1:
  lsrs r1, r0, #23
  bne 1f
  lsls r0, r0, #8
  subs r2, #8
1:
  lsrs r1, r0, #27
  bne 1f
  lsls r0, r0, #4
  subs r2, #4
1:
  cmp r0, #0
  bmi 2f
1:
  subs r2, #1
  adds r0, r0, r0
  bpl 1b
2:
  cmp r2, #0
  bgt sum_rounds
  // Subnormal, and exact: nothing was lost on the right.
  movs r1, #9
  subs r1, r1, r2
  lsrs r0, r0, r1
  lsls r3, r3, #31
  orrs r0, r3
7:
  pop {r4, r5}
  bx lr

sum_infinite:
  lsls r0, r2, #23
  lsls r3, r3, #31
  orrs r0, r3
  pop {r4, r5}
  bx lr

// The smaller one is zero or subnormal.
sum_small:
  lsls r3, r1, #1
  bne sum_rare
  lsls r3, r0, #1
  bne 1f
  ands r0, r1 // of two zeros, negative only when both are
1:
  bx lr
sum_rare:
  push {r4, lr}
  bl __real___aeabi_fadd
  pop {r4, pc}

  .section .text.single_product, "ax", %progbits
FUNCTION fmul
  push {r4, r5, r6, lr}
  movs r6, r0
  eors r6, r1
  lsrs r6, r6, #31 // sign
  lsls r2, r0, #1
  lsrs r2, r2, #24
  beq product_small
  lsls r3, r1, #1
  lsrs r3, r3, #24
  beq product_small
  cmp r2, #255
  beq product_rare
  cmp r3, #255
  beq product_rare
  mov ip, r0
  mov lr, r1
  adds r2, r2, r3
  // Mantissas as 16 digits and 8.
  movs r3, #1
  lsls r3, r3, #31
  lsls r0, r0, #8
  orrs r0, r3
  lsls r1, r1, #8
  orrs r1, r3
  lsls r4, r0, #16
  lsrs r4, r4, #24
  lsrs r0, r0, #16
  lsls r5, r1, #16
  lsrs r5, r5, #24
  lsrs r1, r1, #16
  movs r3, r4
  muls r3, r5
  muls r4, r1
  muls r5, r0
  muls r0, r1
  adds r4, r4, r5
  lsrs r5, r3, #8
  adds r4, r4, r5
  lsrs r5, r4, #8
  adds r0, r0, r5
  // r0: 31 or 32 digits; behind them those of r4 and r3.
  lsls r4, r4, #24
  lsls r3, r3, #24
  lsrs r3, r3, #8
  orrs r4, r3
  subs r2, #126
  cmp r0, #0
  bmi 1f
  adds r4, r4, r4
  adcs r0, r0
  subs r2, #1
1:
  cmp r2, #0
  ble product_subnormal
  cmp r2, #255
  bge product_infinite
  movs r3, #1
  cmp r4, #0
  beq 2f
  orrs r0, r3
2:
  lsls r3, r3, #31
  lsls r1, r0, #24
  lsrs r0, r0, #8
  cmp r1, r3
  blo 4f
  bhi 3f
  lsrs r1, r0, #1
  bcc 4f
3:
  adds r0, #1
4:
  subs r2, #1
  lsls r2, r2, #23
  adds r0, r0, r2
  lsls r6, r6, #31
  orrs r0, r6
  pop {r4, r5, r6, pc}

product_infinite:
  movs r0, #255
  lsls r0, r0, #23
  lsls r6, r6, #31
  orrs r0, r6
  pop {r4, r5, r6, pc}
product_subnormal:
  mov r0, ip
  mov r1, lr
product_rare:
  bl __real___aeabi_fmul
  pop {r4, r5, r6, pc}
// One of them is zero or subnormal.
product_small:
  lsls r2, r0, #1
  lsls r3, r1, #1
  movs r4, #255
  lsls r4, r4, #24
  cmp r2, r4
  bhs product_rare
  cmp r3, r4
  bhs product_rare
  cmp r2, #0
  beq 1f
  cmp r3, #0
  bne product_rare
1:
  lsls r0, r6, #31
  pop {r4, r5, r6, pc}

  .section .text.single_order, "ax", %progbits
FUNCTION fcmpgt
  mov r2, r0
  mov r0, r1
  mov r1, r2
FUNCTION fcmplt
  movs r2, r0
  orrs r2, r1
  bmi 1f
  // None is negative; then a < b holds for their bits, if b is a number.
  cmp r0, r1
  bhs order_no
  movs r3, #255
  lsls r3, r3, #23
  cmp r1, r3
  bhi order_no
order_yes:
  movs r0, #1
  bx lr
order_no:
  movs r0, #0
  bx lr
1:
  lsls r2, r0, #1
  lsls r3, r1, #1
  push {r4}
  movs r4, #255
  lsls r4, r4, #24
  cmp r2, r4
  bhi 3f
  cmp r3, r4
  bhi 3f
  pop {r4}
  orrs r2, r3
  beq order_no
  movs r2, r0
  eors r2, r1
  bmi 2f
  cmp r0, r1
  bhi order_yes
  b order_no
2:
  lsrs r0, r0, #31
  bx lr
3:
  pop {r4}
  b order_no

FUNCTION fcmpge
  mov r2, r0
  mov r0, r1
  mov r1, r2
FUNCTION fcmple
  movs r2, r0
  orrs r2, r1
  bmi 1f
  cmp r0, r1
  bhi order_no
  movs r3, #255
  lsls r3, r3, #23
  cmp r1, r3
  bhi order_no
  movs r0, #1
  bx lr
1:
  lsls r2, r0, #1
  lsls r3, r1, #1
  push {r4}
  movs r4, #255
  lsls r4, r4, #24
  cmp r2, r4
  bhi 3b
  cmp r3, r4
  bhi 3b
  pop {r4}
  orrs r2, r3
  beq order_yes
  movs r2, r0
  eors r2, r1
  bmi 2b
  cmp r0, r1
  bhs order_yes
  b order_no

FUNCTION fcmpeq
  cmp r0, r1
  beq 1f
  orrs r0, r1
  lsls r0, r0, #1
  beq order_yes
  b order_no
1:
  lsls r0, r0, #1
  movs r3, #255
  lsls r3, r3, #24
  cmp r0, r3
  bhi order_no
  movs r0, #1
  bx lr
