#include "trial.h"

#include "status.h"

// Without another request the outputs rest after this long.
#define HOLD_ms 500u
// Farthest goal, steps: far more than a bring-up counts.
#define GOAL_MOST 100000000
// Steps of a millisecond: fewer than the port can put out.
#define STEPS 50
_Static_assert(STEPS < Z_STEPS_MOST, "so that no step is carried over");
// A failure waits until its answer has left.
#define ANSWER_ms 50u
// What permits something is true only while current flows: then this box is wired.
#define PERMITTING (INPUT_KEY | INPUT_STOP_CHAIN | INPUT_BREAKAWAY)

// Written from the idle loop while ticks are held, or by the tick.
static bool runs;
static uint32_t outputs, begun_at, fail_at, failure;
static int32_t z_goal, z_done, x_counted, y_counted;

static uint32_t mayTry(void) {
  if (status_key_on()) return STATUS_KEY;
  if (!port_at_desk()) return STATUS_NOT_BEGUN;
  return (box_status.digital_inputs & PERMITTING) != 0 ? STATUS_WIRED : STATUS_DONE;
}

uint32_t trial_outputs(Frame *frame) {
  wire_trial_outputs request;
  if (frame->length != sizeof request) return STATUS_LENGTH;
  __builtin_memcpy(&request, frame->payload, sizeof request);
  if ((request.outputs & ~(uint32_t)TRIAL_ALL) != 0) return STATUS_RANGE;
  if (request.z_goal > GOAL_MOST || request.z_goal < -GOAL_MOST) return STATUS_RANGE;
  port_hold_ticks();
  uint32_t status = mayTry();
  if (status == STATUS_DONE) {
    runs = true;
    begun_at = tick_number();
    outputs = request.outputs;
    z_goal = request.z_goal;
  }
  wire_trial_counts counts = {.z_done = z_done, .x_counted = x_counted, .y_counted = y_counted};
  port_release_ticks();
  __builtin_memcpy(frame->payload, &counts, sizeof counts);
  frame->length = sizeof counts;
  return status;
}

uint32_t trial_failure(Frame *frame) {
  wire_trial_failure request;
  if (frame->length != sizeof request) return STATUS_LENGTH;
  __builtin_memcpy(&request, frame->payload, sizeof request);
  if (request.failure < TRIAL_HANG || request.failure > TRIAL_PROTECTED) return STATUS_RANGE;
  uint32_t status = mayTry();
  if (status != STATUS_DONE) return status;
  port_hold_ticks();
  failure = request.failure;
  fail_at = tick_number() + ANSWER_ms;
  port_release_ticks();
  frame->length = 0;
  return STATUS_DONE;
}

// Without Z in the box's hands no step is put out, and none counts.
static void stepOn(void) {
  int32_t left = (outputs & TRIAL_Z_OWNED) != 0 ? z_goal - z_done : 0;
  int32_t steps = left > STEPS ? STEPS : left < -STEPS ? -STEPS : left;
  z_done += steps;
  port_trial(outputs, steps);
}

void trial_tick(const PortInputs *inputs) {
  if (!port_at_desk()) return;
  if (failure != 0 && tick_number() >= fail_at) port_trial_failure(failure);
  x_counted += inputs->x_steps;
  y_counted += inputs->y_steps;
  if (!runs) return;
  runs = tick_number() - begun_at < HOLD_ms && (inputs->digital_inputs & PERMITTING) == 0;
  if (runs) {
    stepOn();
    return;
  }
  z_goal = z_done;
  port_trial(0, 0);
}
