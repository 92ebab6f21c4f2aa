// desk-episodes SEED COUNT: random episodes of the whole box in the desk state. Wires, readings, reference and kept
// parameters are anything; a host asks for anything. Watched before and after every tick: the state is entered with the key off, at
// rest or in a fault; from then on no output has an edge but the latched stop, which is never reset; the parameters at the
// pins stay; it ends by a restart that a host asked for with the key off, or because the box has gone down. After a restart of
// whatever cause the latched stop of before is set from the first tick until a reset. Prints a margin for each requirement
// (rows: desk-requirements.ts): 0, or minus how often it was broken; a line for the first time that each was; then ends with 1.
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
#define AFTER_ticks 400u // of the box after its restart: most causes of a fault are back by then

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
static uint32_t entered, from_fault, refused, stops_kept, stops_set, key_turned, commits, left, crashed, stops_after, stops_reset;
// The box has started again, for this cause; what its latched stop must be until a reset.
static bool started_again, stop_stands;
static uint32_t restart_cause, started_at, crash_at;

typedef enum { ENTRY, OUTPUTS, STOP, PARAMETERS, END, AFTER, REQUIREMENTS } Requirement;
static const char *const NAMES[REQUIREMENTS] = {"desk-entry", "desk-outputs",    "desk-latched-stop",
                                                "desk-parameters", "desk-end", "restart-latched-stop"};
static uint32_t breaches[REQUIREMENTS];

// xorshift64* (Vigna).
static uint32_t draw(uint32_t below) {
  state ^= state >> 12;
  state ^= state << 25;
  state ^= state >> 27;
  return (uint32_t)((state * 2685821657736338717ull) >> 32) % below;
}
static bool chance(uint32_t percent) { return draw(100) < percent; }

static void broken(Requirement requirement, const char *what) {
  if (breaches[requirement]++ == 0) fprintf(stderr, "episode %u, tick %u, %s: %s\n", episode, tick_of_episode, NAMES[requirement], what);
}

static void entry(void) {
  if (seen.key_on) broken(ENTRY, "the desk state began with the key on");
  if (seen.mode != MODE_REST && seen.mode != MODE_FAULT) broken(ENTRY, "the desk state began in a cut");
  entered++;
  if (seen.mode == MODE_FAULT) from_fault++;
  if (seen.stop_set) stops_kept++;
  memcpy(seen.parameters, module_blocks[MODULE_AT_PINS].parameters, sizeof seen.parameters);
}

static void lookAfter(bool stop_set) {
  if ((host.inputs.digital_inputs & INPUT_RESET) != 0 && !stop_set) {
    if (stop_stands) stops_reset++;
    stop_stands = false;
  }
  if (stop_stands && !stop_set) broken(AFTER, "the latched stop was not set again, or went without a reset");
  if (stop_stands && tick_of_episode == started_at + 1u) stops_after++;
}

static void look(void) {
  bool stop_set = (host.digital_outputs & OUTPUT_LATCHED_STOP) != 0;
  if (host.desk && !seen.desk) entry();
  if (!host.desk && seen.desk) broken(END, "the desk state ended without a restart");
  if (host.desk) {
    if ((host.digital_outputs & ~OUTPUT_LATCHED_STOP) != 0) broken(OUTPUTS, "an output is not at rest");
    if (host.trigger || host.trigger_edges != seen.trigger_edges) broken(OUTPUTS, "an edge at the trigger");
    if (host.z_steps != seen.z_steps) broken(OUTPUTS, "a Z step");
    if (seen.stop_set && !stop_set) broken(STOP, "the latched stop was reset");
    if (!seen.stop_set && stop_set) stops_set++;
    // The trim alone may change while the box runs.
    seen.parameters[PARAMETER_TRIM_V] = module_blocks[MODULE_AT_PINS].parameters[PARAMETER_TRIM_V];
    if (memcmp(seen.parameters, module_blocks[MODULE_AT_PINS].parameters, sizeof seen.parameters) != 0)
      broken(PARAMETERS, "a parameter at the pins has changed");
  }
  seen.desk = host.desk;
  seen.stop_set = stop_set;
  seen.trigger_edges = host.trigger_edges;
  seen.z_steps = host.z_steps;
  seen.mode = box_status.mode;
  seen.key_on = status_key_on();
}

// The box goes down with its outputs at rest, and starts again.
_Noreturn static void startAgain(uint32_t cause) {
  restart_cause = cause;
  stop_stands = box_status.fault != FAULT_NONE && (module_word(MODULE_AT_PINS, OUTPUT_DIGITAL) & OUTPUT_LATCHED_STOP) != 0;
  longjmp(ended, 2);
}

void host_restart(uint32_t cause) {
  if (cause != BOOT_LOADER && cause != BOOT_RESTART) broken(END, "a restart that nobody asked for");
  if (cause == BOOT_RESTART && !seen.desk) broken(END, "a restart from the pins");
  if (seen.key_on) broken(END, "a restart with the key on");
  if (seen.desk) left++;
  startAgain(cause);
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
static uint32_t mended_until;
static bool mended(bool may) {
  if (may && chance(1)) mended_until = tick_of_episode + 120u;
  if (!may || tick_of_episode >= mended_until) return false;
  for (uint32_t i = 0; i < READINGS_PER_TICK; i++) host.inputs.readings[i] = 124;
  host.inputs.reference = 2048;
  host.inputs.relay = false;
  host.inputs.digital_inputs = INPUT_STOP_CHAIN | INPUT_BREAKAWAY | (mended_until - tick_of_episode < 60u ? INPUT_RESET : 0u);
  return true;
}

static void turnWires(bool desk) {
  if (mended(desk || started_again)) return;
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

static void sleepAfter(void) {
  tick_of_episode++;
  if (tick_of_episode > started_at + AFTER_ticks) longjmp(ended, 1);
  turnWires(false);
  host.sent_bytes = 0;
  host_tick();
  lookAfter((host.digital_outputs & OUTPUT_LATCHED_STOP) != 0);
}

void host_sleep(void) {
  if (started_again) {
    sleepAfter();
    return;
  }
  look();
  tick_of_episode++;
  if (tick_of_episode == crash_at) {
    static const uint8_t CAUSES[] = {BOOT_TRAP, BOOT_HARD_FAULT, BOOT_STACK, BOOT_HUNG};
    crashed++;
    startAgain(CAUSES[draw(sizeof CAUSES)]);
  }
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

// What the memory of a box holds when it starts.
static void start(uint32_t cause) {
  host.rests = false;
  host.digital_outputs = 0;
  host.trigger = host.trigger_on = false;
  host.received_out = host.received_in;
  host.boot_cause = cause;
  memset(&seen, 0, sizeof seen);
  seen.trigger_edges = host.trigger_edges;
  seen.z_steps = host.z_steps;
  port_start();
  telemetry_request(0);
  parameters_forget();
  lockstep_end();
  box_status = (Status){0};
  host_receive(0);
  box_main();
}

static void play(void) {
  if (chance(50)) memset(chip, 0xff, sizeof chip);
  tick_of_episode = mended_until = 0;
  started_again = stop_stands = false;
  settling = 20 + draw(SETTLING_ticks);
  length = draw(DESK_ticks);
  crash_at = chance(10) ? 1u + draw(settling + length) : 0;
  wire();
  uint32_t before = entered;
  int how = setjmp(ended);
  if (how == 0) start(BOOT_POWER_UP);
  if (how == 2) {
    started_again = true;
    sound = false;
    started_at = tick_of_episode;
    start(restart_cause);
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
         "\"commits\":%u,\"left\":%u,\"fired\":%u,\"crashed\":%u,\"stops_after\":%u,\"stops_reset\":%u,\"margins\":{",
         episodes, entered, from_fault, refused, stops_kept, stops_set, key_turned, commits, left, fired, crashed, stops_after, stops_reset);
  uint32_t all = 0;
  for (uint32_t i = 0; i < REQUIREMENTS; i++) {
    all += breaches[i];
    printf("%s\"%s\":%d", i == 0 ? "" : ",", NAMES[i], -(int)breaches[i]);
  }
  printf("}}\n");
  return all > 0;
}
