// Single precision without a floating-point unit: sum, difference, product, comparisons and whole numbers, in a third to a half of
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
  eors r0, r1
  eors r1, r0
  eors r0, r1
  lsls r2, r0, #1
  lsls r3, r1, #1
1:
  lsrs r2, r2, #24
  cmp r2, #255
  beq sum_rare
  lsrs r3, r3, #24
  beq sum_small
  subs r3, r2, r3
  cmp r3, #25
  bhi sum_larger
  mov ip, r4
  lsrs r2, r0, #23 // sign and exponent
  movs r4, r0
  eors r4, r1
  bmi difference
  movs r4, #1
  lsls r4, r4, #31
  lsls r0, r0, #8
  orrs r0, r4
  lsls r1, r1, #8
  orrs r1, r4
  cmp r3, #8
  bhi 3f
  lsrs r1, r1, r3
2:
  adds r0, r0, r1
  bcs sum_longer
sum_rounds:
  subs r2, #1
  lsls r2, r2, #23
  // The digit that rounds is carried into the number; only what is exact or half way needs more.
  lsls r1, r0, #25
  beq 1f
  lsrs r0, r0, #8
  adcs r0, r2
  mov r4, ip
  bx lr
1:
  bcs 1f
  lsrs r0, r0, #8
  adds r0, r0, r2
  mov r4, ip
  bx lr
1:
  lsrs r0, r0, #8
  adcs r0, r2
sum_even:
  movs r1, #1
  bics r0, r1
  mov r4, ip
  bx lr

  // Digits that leave on the right are remembered in the last one.
3:
  movs r4, r1
  lsrs r1, r1, r3
  subs r3, #32
  rsbs r3, r3, #0
  lsls r4, r4, r3
  beq 2b
  movs r4, #1
  orrs r1, r4
  b 2b

// A digit more: 33, of which the first is the carry.
sum_longer:
  adds r2, #1
  uxtb r1, r2
  lsls r2, r2, #23
  cmp r1, #255
  beq sum_infinite
  lsls r1, r0, #24
  beq 1f
  lsrs r0, r0, #9
  adcs r0, r2
  mov r4, ip
  bx lr
1:
  bcs 1f
  lsrs r0, r0, #9
  adds r0, r0, r2
  mov r4, ip
  bx lr
1:
  lsrs r0, r0, #9
  adcs r0, r2
  b sum_even

sum_infinite:
  movs r0, r2
  mov r4, ip
  bx lr

// Less than a quarter of the last digit.
sum_larger:
  bx lr

difference:
  movs r4, #1
  lsls r4, r4, #31
  lsls r0, r0, #8
  orrs r0, r4
  lsls r1, r1, #8
  orrs r1, r4
  cmp r3, #8
  bhi 3f
  lsrs r1, r1, r3
difference_aligned:
  subs r0, r0, r1
  bmi sum_rounds
  beq 7f
  subs r2, #1
  adds r0, r0, r0
  bpl 1f
  uxtb r3, r2
  cmp r3, #0
  bne sum_rounds
1:
  uxtb r3, r2 // exponent
  lsrs r2, r2, #8 // sign
  lsrs r1, r0, #15
  bne 1f
  lsls r0, r0, #16
  subs r3, #16
1:
  lsrs r1, r0, #23
  bne 1f
  lsls r0, r0, #8
  subs r3, #8
1:
  lsrs r1, r0, #27
  bne 1f
  lsls r0, r0, #4
  subs r3, #4
1:
  cmp r0, #0
  bmi 2f
1:
  subs r3, #1
  adds r0, r0, r0
  bpl 1b
2:
  lsls r2, r2, #8
  cmp r3, #0
  ble 1f
  adds r2, r2, r3
  b sum_rounds
1:
  // Subnormal, and exact: nothing was lost on the right.
  movs r1, #9
  subs r1, r1, r3
  lsrs r0, r0, r1
  lsls r2, r2, #23
  orrs r0, r2
7:
  mov r4, ip
  bx lr
3:
  movs r4, r1
  lsrs r1, r1, r3
  subs r3, #32
  rsbs r3, r3, #0
  lsls r4, r4, r3
  beq difference_aligned
  movs r4, #1
  orrs r1, r4
  b difference_aligned

  .section .text.single_whole, "ax", %progbits
FUNCTION i2f
  lsrs r2, r0, #31
  lsls r2, r2, #8
  cmp r0, #0
  beq 2f
  bpl 1f
  rsbs r0, r0, #0
1:
  movs r3, #157 // exponent of a first digit at bit 31, less one for it
  lsrs r1, r0, #16
  bne 1f
  lsls r0, r0, #16
  subs r3, #16
1:
  lsrs r1, r0, #24
  bne 1f
  lsls r0, r0, #8
  subs r3, #8
1:
  lsrs r1, r0, #28
  bne 1f
  lsls r0, r0, #4
  subs r3, #4
1:
  lsrs r1, r0, #30
  bne 1f
  lsls r0, r0, #2
  subs r3, #2
1:
  cmp r0, #0
  bmi 1f
  lsls r0, r0, #1
  subs r3, #1
1:
  adds r2, r2, r3
  lsls r2, r2, #23
  lsls r1, r0, #25
  beq 1f
  lsrs r0, r0, #8
  adcs r0, r2
2:
  bx lr
1:
  bcs 1f
  lsrs r0, r0, #8
  adds r0, r0, r2
  bx lr
1:
  lsrs r0, r0, #8
  adcs r0, r2
  movs r1, #1
  bics r0, r1
  bx lr

  .section .text.single_product, "ax", %progbits
FUNCTION fmul
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
  // The exponent, less one for the leading digit. At both ends, where the digits decide, libgcc does.
  adds r2, r2, r3
  subs r2, #128
  cmp r2, #252
  bhi product_rare
  push {r4}
  lsls r2, r2, #23
  movs r3, #1
  lsls r3, r3, #31
  movs r4, r0
  eors r4, r1
  ands r4, r3
  orrs r2, r4 // sign and exponent
  lsls r0, r0, #8
  orrs r0, r3
  lsls r1, r1, #8
  orrs r1, r3
  // The last 16 of 48 digits only tell whether anything is behind the others.
  movs r4, r0
  muls r4, r1
  mov ip, r4
  // Of one mantissa 16 digits and 8, for products of at most 32.
  lsrs r3, r1, #16
  lsrs r1, r1, #8
  uxtb r1, r1
  lsrs r4, r0, #8
  muls r1, r4
  lsrs r0, r0, #16
  uxtb r4, r4
  muls r4, r3
  muls r0, r3
  lsrs r1, r1, #8
  adds r1, r1, r4
  lsrs r1, r1, #8
  adds r0, r0, r1
  bmi 2f
  // 31 digits; the one that rounds is carried into the number.
  lsls r3, r0, #26
  beq 1f
  lsrs r0, r0, #7
  adcs r0, r2
  pop {r4}
  bx lr
1:
  adds r0, r0, r0
  b 3f
2:
  movs r3, #1
  lsls r3, r3, #23
  adds r2, r2, r3
3:
  lsls r3, r0, #25
  beq 1f
4:
  lsrs r0, r0, #8
  adcs r0, r2
  pop {r4}
  bx lr
1:
  bcc 4b
  mov r3, ip
  cmp r3, #0
  bne 1f
  // Half way: to the even one.
  lsrs r0, r0, #8
  adcs r0, r2
  movs r1, #1
  bics r0, r1
  pop {r4}
  bx lr
1:
  lsrs r0, r0, #8
  adcs r0, r2
  pop {r4}
  bx lr

product_rare:
  push {r4, lr}
  bl __real___aeabi_fmul
  pop {r4, pc}
// One of them is zero or subnormal.
product_small:
  lsls r2, r0, #1
  lsls r3, r1, #1
  push {r4}
  movs r4, #255
  lsls r4, r4, #24
  cmp r2, r4
  bhs 2f
  cmp r3, r4
  bhs 2f
  pop {r4}
  cmp r2, #0
  beq 1f
  cmp r3, #0
  bne product_rare
1:
  eors r0, r1
  lsrs r0, r0, #31
  lsls r0, r0, #31
  bx lr
2:
  pop {r4}
  b product_rare

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
