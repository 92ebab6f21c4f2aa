// desk-episodes SEED COUNT: random episodes of the whole box in the desk state. Wires, readings, reference and kept
// parameters are anything; a host asks for anything. Watched before and after every tick: the state is entered with the key off, at
// rest or in a fault; from then on no output has an edge but the latched stop, which is never reset; the parameters at the
// pins stay; it ends by a restart that a host asked for with the key off. Ends with 1 and a line at the first that is broken.
#include <setjmp.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "frame.h"
#include "host.h"
#include "lockstep.h"
#include "module.h"
#include "parameters.h"
#include "status.h"
#include "telemetry.h"

#define SETTLING_ticks 1200u
#define DESK_ticks 600u
#define LAST_ticks 200u

static uint8_t chip[FLASH_BYTES];
static _Alignas(8) uint8_t kept[KEPT_RAM_BYTES];
static jmp_buf ended;
static uint64_t state;
static uint32_t episode, tick_of_episode, settling, length;
static uint16_t sequence;

// What the last look saw, and what held when the desk state began.
static struct {
  bool desk, stop_set, trigger, key_on;
  uint32_t trigger_edges, mode;
  int32_t z_steps;
  float parameters[PARAMETER_COUNT];
} seen;
// A sound box with somebody who cuts: where its torch would be, and the sheet, steps; when the key is turned off before the host asks.
static bool sound, cuts_before;
static int32_t torch, sheet;
static uint32_t fired;
static uint32_t entered, from_fault, refused, stops_kept, stops_set, key_turned, commits, left;

// xorshift64* (Vigna).
static uint32_t draw(uint32_t below) {
  state ^= state >> 12;
  state ^= state << 25;
  state ^= state >> 27;
  return (uint32_t)((state * 2685821657736338717ull) >> 32) % below;
}
static bool chance(uint32_t percent) { return draw(100) < percent; }

static void broken(const char *what) {
  fprintf(stderr, "episode %u, tick %u: %s\n", episode, tick_of_episode, what);
  exit(1);
}

static void entry(void) {
  if (seen.key_on) broken("the desk state began with the key on");
  if (seen.mode != MODE_REST && seen.mode != MODE_FAULT) broken("the desk state began in a cut");
  entered++;
  if (seen.mode == MODE_FAULT) from_fault++;
  if (seen.stop_set) stops_kept++;
  memcpy(seen.parameters, module_blocks[MODULE_AT_PINS].parameters, sizeof seen.parameters);
}

static void look(void) {
  bool stop_set = (host.digital_outputs & OUTPUT_LATCHED_STOP) != 0;
  if (host.desk && !seen.desk) entry();
  if (!host.desk && seen.desk) broken("the desk state ended without a restart");
  if (host.desk) {
    if ((host.digital_outputs & ~OUTPUT_LATCHED_STOP) != 0) broken("an output is not at rest");
    if (host.trigger || host.trigger_edges != seen.trigger_edges) broken("an edge at the trigger");
    if (host.z_steps != seen.z_steps) broken("a Z step");
    if (seen.stop_set && !stop_set) broken("the latched stop was reset");
    if (!seen.stop_set && stop_set) stops_set++;
    // The trim alone may change while the box runs.
    seen.parameters[PARAMETER_TRIM_V] = module_blocks[MODULE_AT_PINS].parameters[PARAMETER_TRIM_V];
    if (memcmp(seen.parameters, module_blocks[MODULE_AT_PINS].parameters, sizeof seen.parameters) != 0)
      broken("a parameter at the pins has changed");
  }
  seen.desk = host.desk;
  seen.stop_set = stop_set;
  seen.trigger_edges = host.trigger_edges;
  seen.z_steps = host.z_steps;
  seen.mode = box_status.mode;
  seen.key_on = status_key_on();
}

void host_restart(uint32_t cause) {
  if (cause != BOOT_LOADER && cause != BOOT_RESTART) broken("a restart that nobody asked for");
  if (cause == BOOT_RESTART && !seen.desk) broken("a restart from the pins");
  if (seen.key_on) broken("a restart with the key on");
  if (seen.desk) left++;
  longjmp(ended, 1);
}
void host_power_cut(void) { abort(); }
uint32_t host_cycles(void) { return 0; }

static void send(uint32_t service, const void *payload, size_t bytes) {
  static Frame frame;
  static uint8_t line[LINE_MOST];
  frame = (Frame){.service = (uint8_t)service, .sequence = ++sequence, .length = (uint16_t)bytes};
  if (bytes > 0) memcpy(frame.payload, payload, bytes);
  size_t on_line = frame_line(&frame, line);
  for (size_t i = 0; i < on_line; i++) host_receive(line[i]);
}

static void sendValues(void) {
  static const uint16_t IDS[] = {PARAMETER_READING_ZERO_COUNTS, PARAMETER_READING_GAIN_MV, PARAMETER_TRIM_V, PARAMETER_FALL_MS};
  wire_value values[3];
  uint32_t count = 1 + draw(3);
  for (uint32_t i = 0; i < count; i++) {
    uint16_t id = chance(70) ? IDS[draw(4)] : (uint16_t)draw(PARAMETER_COUNT + 2u);
    float before = id < PARAMETER_COUNT ? module_blocks[MODULE_AT_PINS].parameters[id] : 0;
    float value = id == PARAMETER_READING_ZERO_COUNTS ? (float)draw(1001) : before * (0.5f + (float)draw(100) / 100.0f);
    values[i] = (wire_value){.id = id, .value = value};
  }
  send(SERVICE_PARAMETERS_STAGE, values, count * sizeof values[0]);
}

static void sendTicks(void) {
  uint8_t bytes[sizeof(wire_tick_inputs) + 2u * INPUT_BYTES];
  for (size_t i = sizeof(wire_tick_inputs); i < sizeof bytes; i++) bytes[i] = (uint8_t)draw(256);
  memset(bytes, 0, sizeof(wire_tick_inputs));
  send(SERVICE_LOCKSTEP_TICKS, bytes, sizeof bytes);
}

static void anyRequest(void) {
  static const uint8_t PLAIN[] = {SERVICE_DESK_BEGIN, SERVICE_DESK_BEGIN, SERVICE_LOCKSTEP_BEGIN, SERVICE_LOCKSTEP_END, SERVICE_STATE,
                                  SERVICE_PARAMETERS_CHECK, SERVICE_PARAMETERS_COMMIT, SERVICE_IDENTITY, SERVICE_READINGS};
  switch (draw(8)) {
    case 0:
      sendValues();
      break;
    case 1:
      sendTicks();
      break;
    case 2:
      commits++;
      sendValues();
      send(SERVICE_PARAMETERS_COMMIT, NULL, 0);
      break;
    case 3: {
      uint8_t bytes[16];
      for (size_t i = 0; i < sizeof bytes; i++) bytes[i] = (uint8_t)draw(256);
      send(draw(32), bytes, draw(sizeof bytes + 1u));
      break;
    }
    case 4:
      if (chance(20)) send(chance(50) ? SERVICE_RESTART : SERVICE_LOADER_ENTER, NULL, 0);
      break;
    default:
      send(PLAIN[draw(sizeof PLAIN)], NULL, 0);
  }
}

// For a while somebody has put everything right, and presses reset: the module forgets its fault.
static bool mended(bool desk) {
  static uint32_t until;
  if (desk && chance(1)) until = tick_of_episode + 120u;
  if (!desk || tick_of_episode >= until) return false;
  for (uint32_t i = 0; i < READINGS_PER_TICK; i++) host.inputs.readings[i] = 124;
  host.inputs.reference = 2048;
  host.inputs.relay = false;
  host.inputs.digital_inputs = INPUT_STOP_CHAIN | INPUT_BREAKAWAY | (until - tick_of_episode < 60u ? INPUT_RESET : 0u);
  return true;
}

static void turnWires(bool desk) {
  if (mended(desk)) return;
  if (chance(4)) {
    uint32_t level = draw(chance(50) ? 1001 : 4096);
    for (uint32_t i = 0; i < READINGS_PER_TICK; i++) host.inputs.readings[i] = (uint16_t)level;
  }
  if (chance(2)) host.inputs.reference = (uint16_t)(chance(50) ? 2048u : draw(4096));
  if (chance(4)) host.inputs.digital_inputs ^= 1u << draw(9);
  if (chance(1)) host.inputs.relay = !host.inputs.relay;
  host.inputs.x_steps = chance(10) ? (int32_t)draw(40) - 20 : 0;
  // An arming key that is turned under the desk state, with all else as in a sound box.
  if (desk && chance(1)) {
    host.inputs.digital_inputs = INPUT_STOP_CHAIN | INPUT_BREAKAWAY | INPUT_REQUEST | INPUT_KEY;
    key_turned++;
  }
  if (desk && chance(2)) host.inputs.digital_inputs &= ~INPUT_KEY;
}

// Homes, turns the key, asks for a cut, and lets the torch touch the sheet.
static void operate(void) {
  uint32_t wires = INPUT_STOP_CHAIN | INPUT_BREAKAWAY;
  uint32_t from = cuts_before ? 60u : settling + 10u;
  uint32_t since = tick_of_episode - from;
  bool cutting = tick_of_episode > from && (!cuts_before || tick_of_episode + 4u < settling);
  torch += (int32_t)module_word(MODULE_AT_PINS, OUTPUT_Z_STEPS);
  if (!cutting || since < 30u) wires |= INPUT_TOP;
  if (cutting && since > 60u) wires |= INPUT_KEY;
  if (cutting && since > 120u) wires |= INPUT_REQUEST;
  if (torch <= sheet) wires |= INPUT_TOUCH;
  host.inputs.digital_inputs = wires;
  bool trigger = (module_word(MODULE_AT_PINS, OUTPUT_DIGITAL) & OUTPUT_TRIGGER) != 0;
  if (host.desk && trigger) fired++;
}

void host_sleep(void) {
  look();
  tick_of_episode++;
  if (sound) operate();
  else turnWires(host.desk);
  if (!sound && tick_of_episode < settling && chance(1)) send(chance(50) ? SERVICE_LOCKSTEP_BEGIN : SERVICE_RESTART, NULL, 0);
  if (tick_of_episode == settling) send(SERVICE_DESK_BEGIN, NULL, 0);
  if (tick_of_episode > settling && tick_of_episode < settling + length && chance(sound ? 1 : 25)) anyRequest();
  if (tick_of_episode >= settling + length) host.inputs.digital_inputs &= ~INPUT_KEY;
  if (tick_of_episode == settling + length) send(SERVICE_LOCKSTEP_END, NULL, 0);
  if (tick_of_episode == settling + length + 5u) send(chance(50) ? SERVICE_RESTART : SERVICE_LOADER_ENTER, NULL, 0);
  if (tick_of_episode > settling + length + LAST_ticks) longjmp(ended, 1);
  host.sent_bytes = 0;
  host_tick();
  look();
}

static void wire(void) {
  sound = chance(15);
  cuts_before = sound && chance(50);
  torch = 0;
  sheet = -2400 - (int32_t)draw(800);
  bool bare = !sound && chance(50);
  uint32_t zero = draw(chance(50) ? 1001 : 4096);
  for (uint32_t i = 0; i < READINGS_PER_TICK; i++) host.inputs.readings[i] = (uint16_t)zero;
  host.inputs.reference = (uint16_t)(chance(50) ? 2048u : draw(4096));
  host.inputs.digital_inputs = bare ? 0 : INPUT_STOP_CHAIN | INPUT_BREAKAWAY | INPUT_TOP;
  host.inputs.relay = !sound && chance(10);
  if (!sound) return;
  for (uint32_t i = 0; i < READINGS_PER_TICK; i++) host.inputs.readings[i] = 124;
  host.inputs.reference = 2048;
  memset(chip, 0xff, sizeof chip);
  settling = cuts_before ? 300 + draw(2400) : 60;
  length = 2600;
}

static void play(void) {
  if (chance(50)) memset(chip, 0xff, sizeof chip);
  host.rests = false;
  host.digital_outputs = 0;
  host.trigger = host.trigger_on = false;
  host.received_out = host.received_in;
  host.boot_cause = BOOT_POWER_UP;
  memset(&seen, 0, sizeof seen);
  seen.trigger_edges = host.trigger_edges;
  seen.z_steps = host.z_steps;
  tick_of_episode = 0;
  settling = 20 + draw(SETTLING_ticks);
  length = draw(DESK_ticks);
  wire();
  uint32_t before = entered;
  if (setjmp(ended) == 0) {
    port_start();
    // What a start would have cleared.
    telemetry_request(0);
    parameters_forget();
    lockstep_end();
    host_receive(0);
    box_main();
  }
  if (entered == before) refused++;
}

int main(int count, char **given) {
  if (count != 3) return 2;
  state = strtoull(given[1], NULL, 10) * 0x9e3779b97f4a7c15ull + 1u;
  host.flash = chip;
  host.kept = kept;
  uint32_t episodes = (uint32_t)atoi(given[2]);
  memset(chip, 0xff, sizeof chip);
  for (episode = 0; episode < episodes; episode++) play();
  printf("{\"episodes\":%u,\"entered\":%u,\"from_fault\":%u,\"refused\":%u,\"stops_kept\":%u,\"stops_set\":%u,\"key_turned\":%u,"
         "\"commits\":%u,\"left\":%u,\"fired\":%u}\n",
         episodes, entered, from_fault, refused, stops_kept, stops_set, key_turned, commits, left, fired);
}
