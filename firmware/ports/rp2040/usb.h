// A serial port over USB, polled: no interrupt. Used by box and loader beside the UART, with the same functions. From the
// idle loop; the bus is served whenever one of them is called.
#ifndef STANDOFF_USB_H
#define STANDOFF_USB_H
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

// Shows itself on the bus. Not while the flash chip is busy: its number is asked for.
void usb_start(void);
// One byte received, or -1. A 0 byte, which ends a frame, comes before the first byte of a program that opened the port, and
// goes before the first one to it.
int usb_take(void);
// True when there is a byte to take, or packets come so fast that sleep would be too long.
bool usb_waiting(void);
// All of it while no program has the port open: what is sent then is discarded.
size_t usb_room(void);
// False: no room, nothing sent.
bool usb_send(const uint8_t *bytes, size_t length);
// True while a program on the PC has the port open.
bool usb_open(void);
// True when the PC has everything that was sent.
bool usb_quiet(void);

#endif
