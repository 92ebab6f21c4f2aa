// Endpoint 0: who this is, and what the PC sets (USB 2.0, chapter 9; class CDC 1.2 with PSTN 1.2, abstract control model).
#ifndef STANDOFF_USB_CONTROL_H
#define STANDOFF_USB_CONTROL_H
#include <stdbool.h>
#include <stdint.h>

// Numbers of the endpoints: the one that never says anything but must be there, and the pair that carries the frames.
#define USB_NOTICES 1u
#define USB_FRAMES 2u

typedef struct {
  bool configured;
  bool open;    // a program has the port: DTR
  bool opened;  // it has opened it since this was last cleared
  bool restart_to_pc, restart_from_pc; // that end of the pair begins again with DATA0
} UsbControl;
extern UsbControl usb_control;

// Once. Reads the flash chip's number: not while that is busy.
void usb_control_start(void);
void usb_control_bus_reset(void);
// A SETUP has come; the buffer to the PC has been sent; the one from the PC has been filled.
void usb_control_setup(void);
void usb_control_sent(void);
void usb_control_received(void);
// What was to begin again has done so: the PC may know.
void usb_control_restarted(void);

#endif
