// A board on a PC: port.h over plain memory. What feeds the inputs, carries the link and lets time pass is the program
// around it: it defines the four functions at the end. Everything happens in one thread: a tick comes while the idle loop
// sleeps or waits for the flash chip.
#ifndef STANDOFF_HOST_H
#define STANDOFF_HOST_H
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "port.h"

#define HOST_ERASE_ms 45u // of a sector; typical of the 25 series
#define HOST_PROGRAM_ms 1u
#define HOST_SEND_BYTES 1024u
#define HOST_RECEIVE_BYTES 65536u

typedef enum { CUT_BEFORE, CUT_WITHIN, CUT_AFTER } HostCut;

typedef struct {
  PortInputs inputs; // of the next tick; steps are given once
  // Outputs
  uint32_t digital_outputs;
  bool trigger;          // level of the pin
  bool trigger_on;       // what the last tick asked for: the pin toggles while it is true
  uint32_t trigger_edges;
  int32_t z_steps; // sum of all
  bool lamp;
  bool rests; // for good
  uint32_t ticks, watchdog_feeds;
  // Of this start
  uint32_t boot_cause, boot_slot, boot_detail;
  bool stack_broken;
  // Memory that outlives the program, given by it before port_start
  uint8_t *flash; // FLASH_BYTES
  void *kept;     // KEPT_RAM_BYTES
  // Flash: operations begun; the power fails at this one (UINT32_MAX: never); a deaf chip takes commands and does nothing
  uint32_t flash_operations, cut_at;
  HostCut cut_moment;
  bool deaf;
  uint32_t seed; // of what a cut operation leaves behind
  // Link
  uint32_t baud;
  uint8_t received[HOST_RECEIVE_BYTES]; // counts run on and are taken modulo the room
  uint32_t received_in, received_out;
  uint8_t sent[HOST_SEND_BYTES];
  size_t sent_bytes; // the program takes them away
} HostBoard;
extern HostBoard host;

// One tick, if ticks run. Not while they are held.
void host_tick(void);
// A byte from the other end; false: no room.
bool host_receive(uint8_t byte);

// Defined by the program.
void host_sleep(void);                            // the idle loop has nothing to do
_Noreturn void host_restart(uint32_t cause);      // port_restart was called
_Noreturn void host_power_cut(void);              // the power failed at host.cut_at
uint32_t host_cycles(void);                       // of a processor at CLOCK_HZ

#endif
