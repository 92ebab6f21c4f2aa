// A box that does only what it is told, to try the port with on the emulated board: one letter a command, for some a
// signed number behind it. `?` answers what the port has brought so far, as one line of JSON.
#include "port.h"

// The desk looks for a table here; this box has none to show.
const uint32_t export_table[1] = {0};

static volatile int32_t z_steps;
static volatile bool alternate, own, trigger, hang, early_reset;
static volatile uint32_t delay_us;
static volatile uint32_t ticks, overruns, lines;
static volatile int32_t x_steps, y_steps;
static volatile uint32_t reading_sum, reference;
static volatile bool relay;

static void wait(uint32_t us) {
  uint32_t cycles = us * (port_cycles_per_ms() / 1000u);
  uint32_t from = port_cycles();
  while (((port_cycles() - from) & 0xffffffu) < cycles) {
  }
}

void box_tick(void) {
  PortInputs inputs;
  port_inputs(&inputs);
  ticks++;
  lines = inputs.digital_inputs;
  if ((lines & INPUT_OVERRUN) != 0) overruns++;
  x_steps += inputs.x_steps;
  y_steps += inputs.y_steps;
  reading_sum = 0;
  for (uint32_t i = 0; i < READINGS_PER_TICK; i++) reading_sum += inputs.readings[i] * (i + 1u);
  reference = inputs.reference;
  relay = inputs.relay;
  port_outputs(OUTPUT_PERMIT | (own ? OUTPUT_Z_OWNED : 0u), alternate && ticks % 2u == 0 ? -z_steps : z_steps);
  port_trigger(trigger);
  if (delay_us != 0) {
    wait(delay_us);
    delay_us = 0;
  }
  while (hang) {
  }
  port_watchdog();
}

static void say(const char *text) {
  size_t length = 0;
  while (text[length] != 0) length++;
  while (!port_link_send(0, (const uint8_t *)text, length)) port_sleep();
}

static void number(const char *name, int32_t value) {
  char digits[12];
  size_t at = sizeof digits;
  uint32_t left = value < 0 ? 0u - (uint32_t)value : (uint32_t)value;
  digits[--at] = 0;
  do digits[--at] = (char)('0' + left % 10u);
  while ((left /= 10u) != 0);
  if (value < 0) digits[--at] = '-';
  say(name);
  say(digits + at);
}

static void report(void) {
  number("{\"cause\":", (int32_t)port_boot_cause());
  number(",\"slot\":", (int32_t)port_boot_slot());
  number(",\"detail\":", (int32_t)port_boot_detail());
  number(",\"ticks\":", (int32_t)ticks);
  number(",\"overruns\":", (int32_t)overruns);
  number(",\"lines\":", (int32_t)lines);
  number(",\"x_steps\":", x_steps);
  number(",\"y_steps\":", y_steps);
  number(",\"reading_sum\":", (int32_t)reading_sum);
  number(",\"reference\":", (int32_t)reference);
  number(",\"relay\":", relay);
  number(",\"kept\":", ((const int32_t *)port_kept_memory())[0]);
  number(",\"intact\":", port_stack_intact());
  say("}\n");
}

static uint8_t next(void) {
  for (;;) {
    int byte = port_link_take(0);
    if (byte >= 0) return (uint8_t)byte;
    port_sleep();
  }
}

// Each call keeps its words on the stack. No compiler may take them away.
static uint32_t deeper(uint32_t depth) {
  volatile uint32_t words[8];
  for (uint32_t i = 0; i < 8; i++) words[i] = depth;
  return deeper(depth + 1u) + words[depth % 8u];
}

static void flash(void) {
  uint8_t page[16];
  for (uint32_t i = 0; i < sizeof page; i++) page[i] = (uint8_t)(i * 17u);
  bool done = port_flash_erase(KEPT_AT) && port_flash_program(KEPT_AT + 32u, page, sizeof page);
  uint8_t back[17];
  port_flash_read(KEPT_AT + 32u, back, sizeof back);
  for (uint32_t i = 0; i < sizeof page; i++) done = done && back[i] == page[i];
  say(done && back[16] == 255u ? "flash done\n" : "flash failed\n");
}

_Noreturn void box_main(void) {
  int32_t *kept = port_kept_memory();
  kept[0] = port_boot_cause() == BOOT_POWER_UP ? 1 : kept[0] + 1;
  port_run();
  for (;;) {
    uint8_t command = next();
    if (command == 'Z') {
      z_steps = (int8_t)next();
      alternate = false;
      own = true;
    } else if (command == 'A') {
      z_steps = (int8_t)next();
      alternate = own = true;
    } else if (command == 'L') {
      own = false;
      z_steps = 0;
    } else if (command == 'T') trigger = true;
    else if (command == 't') trigger = false;
    else if (command == 'D') delay_us = 10u * next();
    else if (command == 'H') hang = true;
    else if (command == 'S') z_steps = (int32_t)deeper(0);
    else if (command == 'B') z_steps = *(volatile int32_t *)0x60000000u;
    else if (command == 'R') port_restart(next());
    else if (command == 'F') flash();
    else if (command == 'K') {
      port_hold_ticks();
      wait(1500);
      port_release_ticks();
    } else if (command == 'P') port_rest();
    else if (command == '?') report();
  }
}
