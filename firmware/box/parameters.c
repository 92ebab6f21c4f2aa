#include "parameters.h"

#include "events.h"
#include "lockstep.h"
#include "module.h"
#include "status.h"
#include "store.h"
#include "tick.h"

// Setting any parameter but the trim makes the module recompute everything derived from the parameters.
#define TRIGGERS_DERIVED PARAMETER_READING_GAIN_MV

static const Refused NOBODY = {.id = NO_PARAMETER, .other = NO_PARAMETER};
static float staged[PARAMETER_COUNT];
static bool is_staged[PARAMETER_COUNT];
static uint32_t staged_count;
// Committed in the desk state: kept, and in use only after the restart.
static bool waits;

void parameters_start(void) {
  waits = false;
  float *in_use = module_blocks[MODULE_AT_PINS].parameters;
  float defaults[PARAMETER_COUNT], values[PARAMETER_COUNT];
  __builtin_memcpy(defaults, in_use, sizeof defaults);
  __builtin_memcpy(values, in_use, sizeof values);
  uint32_t kept_generation = store_read(values);
  for (uint32_t id = 0; kept_generation != 0 && id < PARAMETER_COUNT; id++) {
    if (module_set_parameter(MODULE_AT_PINS, (int32_t)id, values[id]) == SET_DONE) continue;
    events_add(EVENT_PARAMETER, id, 0);
    store_withhold();
  }
  bool withheld = store_origin() == ORIGIN_WITHHELD;
  if (withheld) __builtin_memcpy(in_use, defaults, sizeof defaults);
  module_power_up(MODULE_AT_PINS);
  // The outputs rest, and nobody can arm, until somebody has set what this image is to run with.
  tick_rest_outputs(REST_FOR_PARAMETERS, withheld);
}

// What counts now, or after the restart that is due.
static void current(float values[PARAMETER_COUNT]) {
  __builtin_memcpy(values, module_blocks[MODULE_AT_PINS].parameters, PARAMETER_COUNT * sizeof(float));
  if (waits) (void)store_read(values);
}

uint32_t parameters_read(uint32_t first, uint32_t most, wire_value *values) {
  float now[PARAMETER_COUNT];
  current(now);
  uint32_t count = 0;
  for (uint32_t id = first; id < PARAMETER_COUNT && count < most; id++) {
    values[count++] = (wire_value){.id = (uint16_t)id, .value = now[id]};
  }
  return count;
}

void parameters_forget(void) {
  for (uint32_t id = 0; id < PARAMETER_COUNT; id++) is_staged[id] = false;
  staged_count = 0;
}

uint32_t parameters_staged(void) { return staged_count; }

// Loads the second copy with the current parameters, from power-up. Only the idle loop writes them, so no tick interferes.
static void resetTrialCopy(void) {
  current(module_blocks[MODULE_IN_LOCKSTEP].parameters);
  module_power_up(MODULE_IN_LOCKSTEP);
}

static uint32_t setParameter(ModuleCopy copy, uint32_t id, float value) {
  uint32_t answer = module_set_parameter(copy, (int32_t)id, value);
  return answer == SET_DONE ? STATUS_DONE : answer == SET_UNKNOWN ? STATUS_ID : STATUS_RANGE;
}

static uint32_t mayChange(void) { return lockstep_runs() ? STATUS_LOCKSTEP : status_may_change(); }

uint32_t parameters_stage(const wire_value *values, uint32_t count, Refused *refused) {
  *refused = NOBODY;
  uint32_t status = mayChange();
  if (status != STATUS_DONE) return status;
  resetTrialCopy();
  for (uint32_t i = 0; i < count; i++) {
    status = setParameter(MODULE_IN_LOCKSTEP, values[i].id, values[i].value);
    if (status == STATUS_DONE) continue;
    refused->id = values[i].id;
    return status;
  }
  if (count == 0) parameters_forget();
  for (uint32_t i = 0; i < count; i++) {
    uint32_t place = values[i].id;
    if (!is_staged[place]) staged_count++;
    is_staged[place] = true;
    staged[place] = values[i].value;
  }
  return STATUS_DONE;
}

uint32_t parameters_check(Refused *refused) {
  *refused = NOBODY;
  uint32_t status = mayChange();
  if (status != STATUS_DONE) return status;
  if (staged_count == 0) return STATUS_NOTHING_STAGED;
  resetTrialCopy();
  for (uint32_t at = 0; at < PARAMETER_COUNT; at++) {
    if (!is_staged[at]) continue;
    status = setParameter(MODULE_IN_LOCKSTEP, at, staged[at]);
    if (status == STATUS_DONE) continue;
    refused->id = (uint16_t)at;
    return status;
  }
  uint32_t pair = module_contradiction(MODULE_IN_LOCKSTEP);
  if (pair == 0) return STATUS_DONE;
  *refused = (Refused){.id = (uint16_t)(pair >> 16), .other = (uint16_t)pair};
  return STATUS_CONTRADICTION;
}

// Between two ticks: all of these values, or none. One is set first, because the module refuses once the key is on.
static bool use(const float values[PARAMETER_COUNT]) {
  float *in_use = module_blocks[MODULE_AT_PINS].parameters;
  port_hold_ticks();
  bool taken = module_set_parameter(MODULE_AT_PINS, TRIGGERS_DERIVED, values[TRIGGERS_DERIVED]) == SET_DONE;
  if (taken) {
    __builtin_memcpy(in_use, values, PARAMETER_COUNT * sizeof(float));
    (void)module_set_parameter(MODULE_AT_PINS, TRIGGERS_DERIVED, values[TRIGGERS_DERIVED]);
  }
  port_release_ticks();
  return taken;
}

// The module at the pins, which may stand in a fault, is left alone.
static uint32_t keep(const float values[PARAMETER_COUNT]) {
  if (!store_write(values)) return STATUS_FLASH;
  waits = true;
  return STATUS_DONE;
}

static uint32_t useAndKeep(const float values[PARAMETER_COUNT]) {
  float before[PARAMETER_COUNT];
  __builtin_memcpy(before, module_blocks[MODULE_AT_PINS].parameters, sizeof before);
  if (!use(values)) return STATUS_BUSY;
  if (store_write(values)) {
    tick_rest_outputs(REST_FOR_PARAMETERS, false);
    return STATUS_DONE;
  }
  // Back to the values that are stored, unless the key was turned on in the meantime.
  (void)use(before);
  return STATUS_FLASH;
}

uint32_t parameters_commit(Refused *refused) {
  uint32_t status = parameters_check(refused);
  if (status != STATUS_DONE) {
    // The host must stage again; another host must not find these values here.
    if (status == STATUS_RANGE || status == STATUS_CONTRADICTION) parameters_forget();
    return status;
  }
  const float *checked = module_blocks[MODULE_IN_LOCKSTEP].parameters;
  status = port_at_desk() ? keep(checked) : useAndKeep(checked);
  if (status != STATUS_DONE) return status;
  parameters_forget();
  events_add_idle(EVENT_COMMIT, 0, (int32_t)store_generation());
  return STATUS_DONE;
}

// One word in the module's memory, which a tick reads as the old value or the new one: ticks go on. What is in force becomes
// the parameter, so that nothing else is read back, and nothing else is stored.
uint32_t parameters_trim(float *trim_V) {
  if (lockstep_runs()) return STATUS_LOCKSTEP;
  uint32_t status = setParameter(MODULE_AT_PINS, PARAMETER_TRIM_V, *trim_V);
  if (status != STATUS_DONE) return status;
  *trim_V = module_trim_in_force(MODULE_AT_PINS);
  return setParameter(MODULE_AT_PINS, PARAMETER_TRIM_V, *trim_V);
}
