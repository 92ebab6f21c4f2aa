// port.h on the RP2040.
#include "port.h"

#include "clocks.h"
#include "flash.h"
#include "pins.h"
#include "reset.h"
#include "sampling.h"
#include "stack.h"
#include "steps.h"
#include "uart.h"
#include "usb.h"

// Once the image has run this long, the loader's count of failed starts is cleared; of a new one, once it has also answered.
#define YOUNG_ms 1000u
// Longest waits for the chip, after which the operation has failed (data sheets of the 25 series: 400 ms and 3 ms).
#define ERASE_MOST_us 500000u
// A restart that has not come by then is made by the watchdog.
#define RESTART_MOST_ms 1000u
#define PROGRAM_MOST_us 10000u

static uint32_t boot_cause, boot_slot;
static uint32_t ticks_fed;
static bool young = true;
static volatile bool on_trial, has_answered;
static volatile bool resting, at_desk;
static bool stop_set; // the latched stop

void port_start(void) {
  uint32_t handed = scratchHas(SCRATCH_HANDED) ? scratchGet(SCRATCH_HANDED) : BOOT_POWER_UP;
  boot_cause = handed & 0xffu;
  boot_slot = handed >> 8;
  on_trial = scratchHas(SCRATCH_RAN) && (scratchGet(SCRATCH_RAN) & RAN_TRIAL) != 0;
  // A stack that reached the read-only code leaves no room for the fault's own frame: the processor locks up until the
  // watchdog resets it. The overwritten mark, which survives the reset, tells this from a hung tick.
  if (boot_cause == BOOT_HUNG && !port_stack_intact()) boot_cause = BOOT_STACK;
  stack_start();
  clocks_start();
  pins_start();
  uart_start(BAUD_AT_START);
  usb_start();
  resetBlocks(RESET_SYSINFO);
  REGISTER(SYST_RVR) = SYST_MOST;
  REGISTER(SYST_CVR) = 0;
  REGISTER(SYST_CSR) = SYST_FROM_PROCESSOR_CLOCK;
  sampling_start();
  steps_start();
}

void port_run(void) {
  watchdogStart(WATCHDOG_ms);
  sampling_run();
}

void port_sleep(void) {
  // USB has no interrupt; the one of the sampling ends the sleep soon enough but for a burst of packets.
  if (!usb_waiting()) __asm volatile("wfi" ::: "memory");
}

void port_inputs(PortInputs *inputs) { sampling_take(inputs); }

static void latchStop(bool set) {
  stop_set = set;
  if (set) pinsHigh(BIT(PIN_LATCHED_STOP));
  else pinsLow(BIT(PIN_LATCHED_STOP));
}

uint32_t port_outputs(uint32_t digital_outputs, int32_t z_steps) {
  if (resting) return 0;
  if (at_desk) {
    if ((digital_outputs & OUTPUT_LATCHED_STOP) != 0) latchStop(true);
    return stop_set ? OUTPUT_LATCHED_STOP : 0u;
  }
  if ((digital_outputs & OUTPUT_PERMIT) != 0) pinsHigh(BIT(PIN_MOTION_PERMIT));
  else pinsLow(BIT(PIN_MOTION_PERMIT));
  latchStop((digital_outputs & OUTPUT_LATCHED_STOP) != 0);
  steps_plan(z_steps, (digital_outputs & OUTPUT_Z_OWNED) != 0, sampling_tick_us());
  return digital_outputs;
}

void port_trigger(bool on) {
  if (on && !resting && !at_desk && permitted(REGISTER(SIO_IN))) REGISTER(SIO_OUT_TOGGLE) = BIT(PIN_TRIGGER);
  else pinsLow(BIT(PIN_TRIGGER));
}

void port_lamp(bool on) {
  if (on && !resting) pinsHigh(BIT(PIN_LAMP));
  else pinsLow(BIT(PIN_LAMP));
}

void port_led(bool on) {
  if (on && !resting) pinsHigh(BIT(PIN_LED));
  else pinsLow(BIT(PIN_LED));
}

void port_watchdog(void) {
  REGISTER(WATCHDOG_LOAD) = WATCHDOG_ms * 2000u;
  if (!young) return;
  if (ticks_fed < YOUNG_ms) ticks_fed++;
  if (ticks_fed < YOUNG_ms || (on_trial && !has_answered)) return;
  young = on_trial = false;
  scratchPut(SCRATCH_RAN, 0);
}

uint32_t port_cycles(void) { return SYST_MOST - REGISTER(SYST_CVR); }
uint32_t port_cycles_per_ms(void) { return CLOCK_HZ / 1000u; }
uint32_t port_capacity(void) { return Z_STEPS_MOST; }
uint32_t port_chip_id(void) { return REGISTER(SYSINFO_CHIP_ID); }

void port_desk(void) {
  at_desk = true;
  steps_stop();
  pinsLow(OUTPUT_PINS & ~(BIT(PIN_LATCHED_STOP) | BIT(PIN_LAMP) | BIT(PIN_LED)));
}
bool port_at_desk(void) { return at_desk; }

static bool trial_steps; // plans are carried out in the desk state

static void setPin(uint32_t pin, bool high) {
  if (high) pinsHigh(BIT(pin));
  else pinsLow(BIT(pin));
}

void port_trial(uint32_t outputs, int32_t z_steps) {
  if (resting || !at_desk) return;
  setPin(PIN_MOTION_PERMIT, (outputs & TRIAL_PERMIT) != 0);
  bool owned = (outputs & TRIAL_Z_OWNED) != 0;
  if (owned && !trial_steps) steps_again();
  else if (!owned && trial_steps) steps_stop();
  trial_steps = owned;
  if (owned) {
    steps_plan(z_steps, true, sampling_tick_us());
    return;
  }
  setPin(PIN_Z_STEP, (outputs & TRIAL_Z_STEP) != 0);
  setPin(PIN_Z_DIRECTION, (outputs & TRIAL_Z_DIRECTION) != 0);
}

void port_trial_failure(uint32_t failure) {
  if (!at_desk) return;
  if (failure == TRIAL_HANG) {
    for (;;) __asm volatile("" ::: "memory");
  }
  if (failure == TRIAL_STACK) stack_overrun();
  if (failure == TRIAL_PROTECTED) *(volatile uint32_t *)BODY_RAM_AT = 0;
}

void port_rest(void) {
  resting = true;
  steps_stop();
  pinsLow(OUTPUT_PINS);
}

void port_restart(uint32_t cause) {
  __asm volatile("cpsid i" ::: "memory");
  port_rest();
  scratchPut(SCRATCH_CAUSE, cause);
  // A chip that is busy can be so for longer than the watchdog waits for a tick.
  watchdogStart(RESTART_MOST_ms);
  flash_settle(ERASE_MOST_us);
  resetNow();
}

// From start.S, with the registers that the processor stacked at the fault.
_Noreturn void hard_fault(const uint32_t *stacked);
void hard_fault(const uint32_t *stacked) {
  uint32_t at = (uint32_t)(uintptr_t)stacked;
  bool readable = at % 4u == 0 && at >= BOX_RAM_AT && at < BOX_RAM_AT + BOX_RAM_BYTES - 32u;
  REGISTER(SCRATCH_DETAIL) = readable ? stacked[6] : 0u;
  port_restart(BOOT_HARD_FAULT);
}

uint32_t port_boot_cause(void) { return boot_cause; }
uint32_t port_boot_slot(void) { return boot_slot; }
bool port_on_trial(void) { return on_trial; }
void port_answered(void) { has_answered = true; }
uint32_t port_boot_detail(void) { return boot_cause == BOOT_HARD_FAULT ? REGISTER(SCRATCH_DETAIL) : 0u; }

void *port_kept_memory(void) { return (void *)KEPT_RAM_AT; }

void port_hold_ticks(void) { sampling_hold_ticks(true); }
void port_release_ticks(void) { sampling_hold_ticks(false); }

#define SERIAL 0u // way to a host; the other is USB
_Static_assert(LINK_WAYS == 2, "the serial line, and USB");

int port_link_take(uint32_t way) { return way == SERIAL ? uart_take() : usb_take(); }
size_t port_link_room(uint32_t way) { return way == SERIAL ? uart_room() : usb_room(); }
bool port_link_send(uint32_t way, const uint8_t *bytes, size_t length) {
  return way == SERIAL ? uart_send(bytes, length) : usb_send(bytes, length);
}
// USB has one speed, whatever is agreed on.
bool port_link_speed(uint32_t way, uint32_t baud) { return way == SERIAL ? uart_speed(baud) : true; }

bool port_link_open(uint32_t way) { return way != SERIAL && usb_open(); }

// A PC gives a port up whose endpoint 0 is silent for 50 ms (USB 2.0, 9.2.6.4).
static void keepPort(void) { (void)usb_quiet(); }

static bool awaitChip(uint32_t most_us) {
  uint32_t begun_us = clock_us();
  while (flash_busy()) {
    keepPort();
    if (clock_us() - begun_us > most_us) return false;
  }
  return true;
}

bool port_flash_erase(uint32_t at) {
  flash_erase_begin(at, SECTOR_BYTES);
  return awaitChip(ERASE_MOST_us);
}

bool port_flash_program(uint32_t at, const uint8_t *bytes, size_t length) {
  flash_program_begin(at, bytes, length);
  return awaitChip(PROGRAM_MOST_us);
}

void port_flash_read(uint32_t at, void *bytes, size_t length) {
  keepPort();
  flash_read(at, bytes, length);
}
