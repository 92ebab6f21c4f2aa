// The only hardware contract, with the numbers in board.gen.h. main.c and what it uses know nothing else of the board;
// each folder of firmware/ports implements it.
// Unless said otherwise a function may be called from the tick and from the idle loop, and returns at once.
#ifndef STANDOFF_PORT_H
#define STANDOFF_PORT_H
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "board.gen.h"

typedef struct {
  uint16_t readings[READINGS_PER_TICK]; // raw converter counts at 10 kHz, oldest first
  uint16_t reference;                   // last reading of the board's own reference
  bool relay;                           // readback: firing contact closed
  uint32_t digital_inputs;              // INPUT_*, raw; INPUT_OVERRUN when the last tick was late
  int32_t x_steps, y_steps;             // signed, since the last call
} PortInputs;

// Clocks, pins at rest, converter, step counters, link at BAUD_AT_START. Ticks begin with port_run.
void port_start(void);
// Starts ticks: from now on box_tick() is called once a millisecond, below all other interrupts but above the idle
// loop, and the watchdog runs.
void port_run(void);
// Idle loop: sleeps until something has happened.
void port_sleep(void);

// Sampled during the millisecond before this tick. Only from the tick.
void port_inputs(PortInputs *inputs);
// OUTPUT_*, of which the trigger is port_trigger's, and the Z steps to spread over the coming millisecond (signed, up is
// positive; direction changes get their set-up time). Steps are put out only while OUTPUT_Z_OWNED is set. Only from the tick.
// Returns those that the pins may have: all of them, but for the time after port_desk and port_rest.
uint32_t port_outputs(uint32_t digital_outputs, int32_t z_steps);
// Toggles the trigger pin once (on) or rests it (off). Only from the tick, after the guard: no timer, PWM or DMA ever
// moves this pin. The port itself rests it when it samples the key off or the stop chain open between ticks.
void port_trigger(bool on);
void port_lamp(bool on);
// The board's own LED, if it has one: a sign of life without a meaning for the table.
void port_led(bool on);
// Feeds the watchdog. Only from the end of a tick.
void port_watchdog(void);
// Processor cycles since some start, wrapping at 2^24 at the earliest; and how many make a millisecond.
uint32_t port_cycles(void);
uint32_t port_cycles_per_ms(void);
// Most Z steps that fit into a millisecond; more would come late.
uint32_t port_capacity(void);
// As the chip names itself: revision in the upper 4 bits, part in 16, maker in 12; 0: it does not.
uint32_t port_chip_id(void);

// The desk state, until the restart: all outputs to rest but the lamp and the latched stop, which stays as it is and from now
// on can only be set. Again: nothing happens. From the idle loop, while ticks are held.
void port_desk(void);
bool port_at_desk(void);
// In the desk state: raises these outputs (TRIAL_*), rests the others of them, and with TRIAL_Z_OWNED puts out Z steps as
// port_outputs does. Nothing otherwise. Only from the tick.
void port_trial(uint32_t outputs, int32_t z_steps);
// Fails on purpose (TRIAL_HANG and on), and may return where the failure is found later. Only from the tick.
void port_trial_failure(uint32_t failure);
// All outputs to rest at once, until the restart; may be called from a fault handler.
void port_rest(void);
// Outputs to rest, saves the cause (BOOT_*) for the next start, and resets.
_Noreturn void port_restart(uint32_t cause);
// The cause of this start (BOOT_*), and the slot that runs (0 or 1).
uint32_t port_boot_cause(void);
uint32_t port_boot_slot(void);
// The image that runs is new, and was not yet shown to run for a second and to answer once.
bool port_on_trial(void);
// A request was answered. From the idle loop.
void port_answered(void);
// Detail of the cause: the program counter of a hard fault; else 0.
uint32_t port_boot_detail(void);
// Memory that survives a restart but not a power cut: KEPT_RAM_BYTES long, aligned to 4.
void *port_kept_memory(void);
// True as long as the end of the stack is untouched.
bool port_stack_intact(void);

// No tick runs between these two; keep it short, it delays the tick. Only from the idle loop.
void port_hold_ticks(void);
void port_release_ticks(void);

// Link, by its way to a host, below LINK_WAYS: one byte received, or -1; room to send; send without waiting (false: no
// room, nothing sent). From the idle loop.
int port_link_take(uint32_t way);
size_t port_link_room(uint32_t way);
bool port_link_send(uint32_t way, const uint8_t *bytes, size_t length);
// True when the port can run at this speed; it changes once everything queued has been sent.
bool port_link_speed(uint32_t way, uint32_t baud);
// True while a program on a PC has this way open, where it is the box's own port on that PC; false where nobody can tell.
bool port_link_open(uint32_t way);

// Flash. Addresses count from the start of the chip. Box and loader run from memory, so ticks go on meanwhile.
// Each returns false when the chip did not complete it. Erase: one sector. Program: within one page. From the idle loop. A PC
// at the box's own port is answered meanwhile.
bool port_flash_erase(uint32_t at);
bool port_flash_program(uint32_t at, const uint8_t *bytes, size_t length);
void port_flash_read(uint32_t at, void *bytes, size_t length);

// Called by the port.
void box_tick(void);
_Noreturn void box_main(void); // after port_start

#endif
