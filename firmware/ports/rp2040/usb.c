#include "usb.h"

#include "clocks.h"
#include "registers.h"
#include "usb-control.h"
#include "usb-end.h"

#define RING 1024u // power of two
// The next packet of a burst comes this soon after the last.
#define AWAKE_us 200u
// Bits of BUFF_STATUS.
#define DONE_IN(n) BIT(2u * (n))
#define DONE_OUT(n) BIT(2u * (n) + 1u)
// Buffers, from the start of the memory: endpoint 0 has its place, what may be chosen begins behind it (4.1.2.5).
#define NOTICES_BYTES 0x180u
#define TO_PC_BYTES 0x1c0u
#define FROM_PC_BYTES 0x200u

static UsbEnd to_pc = {USB_BUFFER_IN(USB_FRAMES), USB_MEMORY + TO_PC_BYTES, false};
static UsbEnd from_pc = {USB_BUFFER_OUT(USB_FRAMES), USB_MEMORY + FROM_PC_BYTES, false};
// Both count up and are reduced when used.
static uint8_t to_send[RING];
static uint32_t to_send_in, to_send_out;
static bool sending;   // the controller has a packet for the PC
static bool ends_full; // the last one was full: without a shorter one after it the PC keeps what it has
static uint32_t received, taken; // bytes of the packet at hand
static bool started, suspended;
static uint32_t moved_us; // when a packet was last moved

void usb_start(void) {
  resetBlocks(RESET_USB);
  for (uint32_t at = 0; at < USB_MEMORY_BYTES; at += 4u) REGISTER(USB_MEMORY + at) = 0;
  usb_control_start();
  REGISTER(USB_MUXING) = MUXING_TO_PHY;
  REGISTER(USB_POWER) = POWER_VBUS_PRESENT;
  REGISTER(USB_MAIN_CTRL) = USB_ON;
  REGISTER(USB_SIE_CTRL) = SIE_STATUS_OF_EP0;
  started = true;
  REGISTER(USB_SIE_CTRL) = SIE_STATUS_OF_EP0 | SIE_PULL_UP;
}

static void turnOn(bool on) {
  REGISTER(USB_END_IN(USB_NOTICES)) = on ? END_ON | END_STATUS | END_INTERRUPT | NOTICES_BYTES : 0u;
  REGISTER(USB_END_IN(USB_FRAMES)) = on ? END_ON | END_STATUS | END_BULK | TO_PC_BYTES : 0u;
  REGISTER(USB_END_OUT(USB_FRAMES)) = on ? END_ON | END_STATUS | END_BULK | FROM_PC_BYTES : 0u;
}

static void awaitPacket(void) {
  received = taken = 0;
  usb_give(&from_pc, 0, USB_PACKET);
}

// An end begins again with DATA0; what was under way is lost.
static void restart(void) {
  if (usb_control.restart_to_pc) {
    usb_withdraw(&to_pc, false);
    to_send_out = to_send_in;
    sending = ends_full = false;
  }
  if (usb_control.restart_from_pc) {
    usb_withdraw(&from_pc, false);
    received = taken = 0;
    turnOn(usb_control.configured);
    if (usb_control.configured) awaitPacket();
  }
  usb_control.restart_to_pc = usb_control.restart_from_pc = false;
}

static void pump(void) {
  if (!usb_control.open || suspended) {
    to_send_out = to_send_in;
    ends_full = false;
    return;
  }
  if (sending) return;
  uint32_t length = to_send_in - to_send_out;
  if (length == 0 && !ends_full) return;
  if (length > USB_PACKET) length = USB_PACKET;
  for (uint32_t n = 0; n < length; n++) usb_put(&to_pc, n, to_send[to_send_out++ % RING]);
  ends_full = length == USB_PACKET;
  sending = true;
  usb_give(&to_pc, BUFFER_FULL, length);
}

static void serveBuffers(uint32_t done) {
  if ((done & DONE_IN(0)) != 0) usb_control_sent();
  if ((done & DONE_OUT(0)) != 0) usb_control_received();
  if ((done & DONE_IN(USB_FRAMES)) != 0) sending = false;
  if ((done & DONE_OUT(USB_FRAMES)) == 0) return;
  taken = 0;
  received = usb_length(&from_pc);
  if (received == 0) awaitPacket();
}

static void work(void) {
  if (!started) return;
  // In this order: a SETUP ends whatever was finished on endpoint 0 before it.
  uint32_t done = REGISTER(USB_BUFF_STATUS);
  uint32_t status = REGISTER(USB_SIE_STATUS);
  suspended = (status & SIE_SUSPENDED) != 0;
  if (done != 0) {
    moved_us = clock_us();
    REGISTER(USB_BUFF_STATUS) = done;
  }
  if ((status & SIE_BUS_RESET) != 0) {
    REGISTER(USB_SIE_STATUS) = SIE_BUS_RESET | SIE_SETUP;
    usb_control_bus_reset();
  } else {
    if ((status & SIE_SETUP) != 0) {
      REGISTER(USB_SIE_STATUS) = SIE_SETUP;
      done &= ~(DONE_IN(0) | DONE_OUT(0));
      usb_control_setup();
    }
    serveBuffers(done);
  }
  restart();
  usb_control_restarted();
  pump();
}

int usb_take(void) {
  if (taken == received) work();
  if (usb_control.opened) {
    usb_control.opened = false;
    // A packet for the program before may still be in the controller: what it began ends here, too.
    const uint8_t end = 0;
    (void)usb_send(&end, 1);
    return 0;
  }
  if (taken == received) return -1;
  uint8_t byte = usb_get(&from_pc, taken++);
  if (taken == received) awaitPacket();
  return byte;
}

bool usb_waiting(void) { return started && (taken != received || clock_us() - moved_us < AWAKE_us); }

size_t usb_room(void) {
  if (to_send_in != to_send_out) work();
  return RING - (to_send_in - to_send_out);
}

bool usb_send(const uint8_t *bytes, size_t length) {
  if (length > usb_room()) return false;
  for (size_t i = 0; i < length; i++) to_send[to_send_in++ % RING] = bytes[i];
  if (started) pump();
  return true;
}

bool usb_open(void) { return usb_control.open; }
bool usb_quiet(void) {
  work();
  return to_send_in == to_send_out && !sending;
}
