#include "sampling.h"

#include "clocks.h"
#include "pins.h"
#include "stack.h"

#define ROUND_us (1000000u / READING_Hz)
#define X_SLICE (PIN_X_STEP / 2u)
#define Y_SLICE (PIN_Y_STEP / 2u)
_Static_assert(PIN_X_STEP % 2 == 1 && PIN_Y_STEP % 2 == 1, "steps are counted at the B pin of a slice");
#define ARC_CHANNEL (PIN_ARC_VOLTAGE - 26u)
#define REFERENCE_CHANNEL (PIN_REFERENCE - 26u)
// In this round of the millisecond the reference is converted as well.
#define REFERENCE_ROUND 5u
// A conversion takes 2 µs (data sheet 4.9.2); a converter that answers in none of these looks is dead.
#define CONVERTER_LOOKS 64u
#define INTERRUPT_PRIORITY 1u
#define TICK_PRIORITY 3u

typedef struct {
  uint32_t levels;
  int32_t x_steps, y_steps;
  uint16_t readings[READINGS_PER_TICK];
} Millisecond;

// Together, so that the interrupt reaches all of it from one address.
static struct {
  uint32_t round_us;             // nominal time of the next round
  uint32_t round;                // its number in its millisecond
  uint32_t tick_us;              // nominal time of the tick that was given last
  Millisecond now;               // steps since the last tick that was given, readings of this millisecond
  Millisecond last;              // for the tick
  uint16_t x_counted, y_counted; // counter values last seen
  uint16_t early_reading;        // of the round in which the reference was converted
  uint16_t reference;
  volatile bool tick_due, tick_runs, ticks_held, overrun;
} state;

static void convert(uint32_t channel) { REGISTER(ADC_CS) = ADC_ENABLE | ADC_START | ADC_CHANNEL(channel); }

// The last result; 0, which no sound chain gives, when the converter has not finished.
static uint16_t result(void) {
  return (REGISTER(ADC_CS) & (ADC_READY | ADC_ERROR)) == ADC_READY ? (uint16_t)REGISTER(ADC_RESULT) : 0;
}

static void startCounter(uint32_t slice) {
  REGISTER(PWM_CSR(slice)) = 0;
  REGISTER(PWM_DIV(slice)) = 1u << 4;
  REGISTER(PWM_CTR(slice)) = 0;
  REGISTER(PWM_TOP(slice)) = 0xffffu;
  REGISTER(PWM_CSR(slice)) = PWM_COUNT_RISING_B | PWM_ENABLE;
}

void sampling_start(void) {
  resetBlocks(RESET_ADC | RESET_PWM);
  REGISTER(ADC_CS) = ADC_ENABLE;
  startCounter(X_SLICE);
  startCounter(Y_SLICE);
  setPriority(IRQ_TIMER_0, INTERRUPT_PRIORITY);
  REGISTER(SCB_SHPR3) = TICK_PRIORITY << 22; // PendSV
}

void sampling_run(void) {
  state.round = 0;
  state.x_counted = (uint16_t)REGISTER(PWM_CTR(X_SLICE));
  state.y_counted = (uint16_t)REGISTER(PWM_CTR(Y_SLICE));
  convert(ARC_CHANNEL);
  state.round_us = clock_us() + ROUND_us;
  SET_BITS(TIMER_INTE) = BIT(0);
  REGISTER(TIMER_ALARM(0)) = state.round_us;
  REGISTER(NVIC_ISER) = BIT(IRQ_TIMER_0);
}

// An alarm set to a time that has passed would fire only after the timer wraps: 71 minutes.
static void nextRound(void) {
  state.round_us += ROUND_us;
  uint32_t alarm_us = state.round_us;
  REGISTER(TIMER_ALARM(0)) = alarm_us;
  while ((int32_t)(alarm_us - clock_us()) <= 0 && (REGISTER(TIMER_ARMED) & BIT(0)) != 0) {
    alarm_us = clock_us() + 2u;
    REGISTER(TIMER_ALARM(0)) = alarm_us;
  }
}

static void takeReading(void) {
  uint16_t reading;
  if (state.round == REFERENCE_ROUND) {
    // This round's reading was taken early, in the round before; since then the reference has been converted.
    state.reference = result();
    reading = state.early_reading;
  } else {
    reading = result();
  }
  convert(ARC_CHANNEL);
  state.now.readings[state.round] = reading;
}

static void takeReference(void) {
  for (uint32_t look = 0; look < CONVERTER_LOOKS; look++) {
    if ((REGISTER(ADC_CS) & ADC_READY) != 0) break;
  }
  state.early_reading = result();
  convert(REFERENCE_CHANNEL);
}

static void countSteps(uint32_t levels) {
  uint16_t x = (uint16_t)REGISTER(PWM_CTR(X_SLICE));
  uint16_t y = (uint16_t)REGISTER(PWM_CTR(Y_SLICE));
  int32_t x_more = (uint16_t)(x - state.x_counted);
  int32_t y_more = (uint16_t)(y - state.y_counted);
  state.x_counted = x;
  state.y_counted = y;
  state.now.x_steps += (levels & BIT(PIN_X_DIRECTION)) != 0 ? x_more : -x_more;
  state.now.y_steps += (levels & BIT(PIN_Y_DIRECTION)) != 0 ? y_more : -y_more;
}

static void giveTick(uint32_t levels) {
  if (state.tick_due || state.tick_runs) {
    // The last tick is late: skip its successor, and do not leave the trigger where a hung tick left it.
    state.overrun = true;
    pinsLow(BIT(PIN_TRIGGER));
    return;
  }
  state.now.levels = levels;
  state.last = state.now;
  state.now.x_steps = state.now.y_steps = 0;
  state.tick_us = state.round_us;
  state.tick_due = true;
  if (!state.ticks_held) REGISTER(SCB_ICSR) = ICSR_PEND_SV;
}

void sampling_interrupt(void) {
  REGISTER(TIMER_INTR) = BIT(0);
  takeReading();
  uint32_t levels = REGISTER(SIO_IN);
  if (!permitted(levels)) pinsLow(BIT(PIN_TRIGGER));
  countSteps(levels);
  stack_guard();
  if (state.round + 1u == REFERENCE_ROUND) takeReference();
  if (++state.round == READINGS_PER_TICK) {
    state.round = 0;
    giveTick(levels);
  }
  nextRound();
}

void tick_interrupt(void) {
  state.tick_runs = true;
  state.tick_due = false;
  box_tick();
  state.tick_runs = false;
}

// The inputs lie on neighbouring pins in the order of their bits, true at the low level: one read and shift gets them all.
#define INPUT(number, high, pull_up, bit) \
  _Static_assert((bit) == BIT((number) - PIN_KEY) && (high) == 0, "input pins are not in the order of their bits");
INPUT_PINS(INPUT)
#undef INPUT
#define INPUT(number, high, pull_up, bit) | (bit)
#define ALL_INPUTS (0u INPUT_PINS(INPUT))

void sampling_take(PortInputs *inputs) {
  const Millisecond *last = &state.last;
  uint32_t digital_inputs = (~last->levels >> PIN_KEY) & ALL_INPUTS;
  if (state.overrun) {
    digital_inputs |= INPUT_OVERRUN;
    state.overrun = false;
  }
  __builtin_memcpy(inputs->readings, last->readings, sizeof last->readings);
  inputs->reference = state.reference;
  inputs->relay = ((last->levels >> PIN_RELAY) & 1u) == PIN_RELAY_HIGH;
  inputs->digital_inputs = digital_inputs;
  inputs->x_steps = last->x_steps;
  inputs->y_steps = last->y_steps;
}

uint32_t sampling_tick_us(void) { return state.tick_us; }

void sampling_hold_ticks(bool hold) {
  state.ticks_held = hold;
  if (!hold && state.tick_due) REGISTER(SCB_ICSR) = ICSR_PEND_SV;
}
