// Each tick hands over a plan for one millisecond. It begins LATENCY_us after the tick's nominal time, when the previous
// plan has just ended, so the duration of a tick shifts no step. A timer alarm of the highest priority outputs the edges
// one by one at times computed from the start of the plan.
#include "steps.h"

#include "clocks.h"
#include "pins.h"

#define LATENCY_us 150u
#define SPAN_us 1000u
// Length of a pulse, and at least as long between two (a driver's usual demand is 2.5 to 5 µs: common practice).
#define PULSE_us 6u
#define BETWEEN_us 6u
// From a change of direction to the first step.
#define SET_UP_us 22u
#define STEPS_MOST ((SPAN_us - SET_UP_us) / (PULSE_us + BETWEEN_us))
_Static_assert(STEPS_MOST == Z_STEPS_MOST, "the board rows promise as many to the module");
#define INTERRUPT_PRIORITY 0u

typedef struct {
  uint32_t begin_us;
  uint32_t steps;
  uint32_t first_q16, interval_q16; // µs × 65536, from the beginning
  bool up, owned;
} Plan;

typedef enum { BEGIN, RISE, FALL } Edge;

static Plan next; // written by the tick while next_ready is false, read by the interrupt while it is true
static volatile bool next_ready;
static volatile bool running;
static int32_t carried; // steps that did not fit into their millisecond

static Plan now;
static uint32_t steps_left;
static uint32_t at_q16;
static Edge edge;
static uint32_t edge_us;
static uint32_t not_before_us; // for the next rising edge

void steps_start(void) {
  setPriority(IRQ_TIMER_1, INTERRUPT_PRIORITY);
  SET_BITS(TIMER_INTE) = BIT(1);
  REGISTER(NVIC_ISER) = BIT(IRQ_TIMER_1);
}

void steps_stop(void) {
  REGISTER(NVIC_ICER) = BIT(IRQ_TIMER_1);
  pinsLow(BIT(PIN_Z_STEP) | BIT(PIN_Z_DIRECTION) | BIT(PIN_Z_OWNED));
}

void steps_again(void) {
  // What was cut off in the middle is forgotten, and where the pins were put meanwhile.
  pinsLow(BIT(PIN_Z_STEP) | BIT(PIN_Z_DIRECTION));
  running = next_ready = false;
  carried = 0;
  now = (Plan){0};
  steps_left = 0;
  REGISTER(TIMER_INTR) = BIT(1);
  REGISTER(NVIC_ICPR) = BIT(IRQ_TIMER_1);
  REGISTER(NVIC_ISER) = BIT(IRQ_TIMER_1);
}

void steps_plan(int32_t steps, bool owned, uint32_t tick_us) {
  carried = owned ? carried + steps : 0;
  if (next_ready) return; // the interrupt is a millisecond behind: the steps go into the next plan
  uint32_t count = (uint32_t)(carried < 0 ? -carried : carried);
  if (count > STEPS_MOST) count = STEPS_MOST;
  next.up = carried > 0;
  carried -= next.up ? (int32_t)count : -(int32_t)count;
  next.begin_us = tick_us + LATENCY_us;
  next.steps = count;
  next.owned = owned;
  next.interval_q16 = count == 0 ? 0 : (SPAN_us << 16) / count;
  next.first_q16 = next.interval_q16 / 2u;
  next_ready = true;
  if (running) return; // the interrupt finds it
  if (owned) pinsHigh(BIT(PIN_Z_OWNED)); // before the first step, for the multiplexer to have switched
  running = true;
  edge = BEGIN;
  edge_us = next.begin_us;
  uint32_t begin_us = edge_us;
  REGISTER(TIMER_ALARM(1)) = begin_us;
  // An alarm set to a time that has passed would fire only after the timer wraps: 71 minutes.
  if ((int32_t)(begin_us - clock_us()) <= 0) REGISTER(NVIC_ISPR) = BIT(IRQ_TIMER_1);
}

static void begin(uint32_t time_us) {
  bool was_up = now.up;
  now = next;
  next_ready = false;
  if (now.owned) pinsHigh(BIT(PIN_Z_OWNED));
  else pinsLow(BIT(PIN_Z_OWNED));
  steps_left = now.steps;
  at_q16 = now.first_q16;
  if (steps_left != 0 && now.up != was_up) {
    if (now.up) pinsHigh(BIT(PIN_Z_DIRECTION));
    else pinsLow(BIT(PIN_Z_DIRECTION));
    not_before_us = time_us + SET_UP_us;
  } else if (steps_left == 0) {
    now.up = was_up;
  }
}

static void planEdge(Edge kind, uint32_t nominal_us, uint32_t earliest_us) {
  edge = kind;
  edge_us = (int32_t)(nominal_us - earliest_us) < 0 ? earliest_us : nominal_us;
}

// Outputs the edge that is due and plans the next one. False: nothing left to do.
static bool carryOut(uint32_t time_us) {
  if (edge == RISE) {
    pinsHigh(BIT(PIN_Z_STEP));
    planEdge(FALL, edge_us + PULSE_us, time_us + PULSE_us);
    return true;
  }
  if (edge == FALL) {
    pinsLow(BIT(PIN_Z_STEP));
    not_before_us = time_us + BETWEEN_us;
    steps_left--;
    at_q16 += now.interval_q16;
  } else {
    begin(time_us);
  }
  if (steps_left != 0) {
    planEdge(RISE, now.begin_us + (at_q16 >> 16), not_before_us);
    return true;
  }
  if (!next_ready) return false;
  planEdge(BEGIN, next.begin_us, time_us);
  return true;
}

void steps_interrupt(void) {
  REGISTER(TIMER_INTR) = BIT(1);
  while (running) {
    uint32_t time_us = clock_us();
    int32_t wait_us = (int32_t)(edge_us - time_us);
    if (wait_us <= 0) {
      running = carryOut(time_us);
    } else if (wait_us >= 3) {
      REGISTER(TIMER_ALARM(1)) = edge_us;
      return;
    }
    // An edge due within 3 µs is awaited here: an alarm that close might be missed.
  }
}
