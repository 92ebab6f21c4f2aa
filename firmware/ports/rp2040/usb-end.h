// One end of a USB pipe: its buffer in the dual-port memory and the toggle of its next packet (RP2040 data sheet 4.1.2.5).
#ifndef STANDOFF_USB_END_H
#define STANDOFF_USB_END_H
#include <stdbool.h>
#include <stdint.h>

#include "registers.h"

#define USB_PACKET 64u

typedef struct {
  uint32_t control; // address of its buffer control
  uint32_t buffer;  // address of its USB_PACKET bytes
  bool odd;         // the next packet is DATA1
} UsbEnd;

// Gives the buffer to the controller: to send `length` bytes of it (bits: BUFFER_FULL), or to receive at most that many.
// The controller's clock is slower than ours: it must see AVAILABLE after all the rest (4.1.2.5.1).
static inline void usb_give(UsbEnd *end, uint32_t bits, uint32_t length) {
  uint32_t control = bits | length | (end->odd ? BUFFER_DATA1 : 0u);
  end->odd = !end->odd;
  REGISTER(end->control) = control;
  __asm volatile("nop\nnop\nnop\nnop\nnop\nnop" ::: "memory");
  REGISTER(end->control) = control | BUFFER_AVAILABLE;
}

// After a bus reset, or a SETUP for endpoint 0: the buffer is ours again.
static inline void usb_withdraw(UsbEnd *end, bool odd) {
  REGISTER(end->control) = 0;
  end->odd = odd;
}

static inline void usb_put(const UsbEnd *end, uint32_t at, uint8_t byte) {
  *(volatile uint8_t *)(uintptr_t)(end->buffer + at) = byte;
}
static inline uint8_t usb_get(const UsbEnd *end, uint32_t at) {
  return *(const volatile uint8_t *)(uintptr_t)(end->buffer + at);
}
static inline uint32_t usb_length(const UsbEnd *end) { return REGISTER(end->control) & BUFFER_LENGTH; }

#endif
