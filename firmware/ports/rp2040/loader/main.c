// The resident loader on the RP2040: starts the newest valid image, or receives a new one over the link. It runs from RAM,
// drives no output but the board's own LED while it stays (external resistors hold the others at rest), and no update overwrites it.
#include "../clocks.h"
#include "../flash.h"
#include "../pins.h"
#include "../reset.h"
#include "../uart.h"
#include "../usb.h"
#include "chip.h"
#include "heartbeat.h"
#include "reason.h"
#include "services.h"
#include "slots.h"

// A host that sends `identity` within this time after a start keeps the loader running: the way back from a bad image.
#define LISTEN_us 150000u
// Without a whole frame for this long the loader starts the image, if there is one to start.
#define IDLE_us 10000000u
// Without a whole frame for this long the line returns to its start speed.
#define SPEED_us 1000000u
// If the image does not tick by then, the watchdog resets it.
#define IMAGE_START_ms 500u
// With USB on: how long it may wait for a poll, and for its last answer to be taken.
#define USB_NAP_us 100u
#define USB_LAST_us 50000u
// Longest time that a chip may need for an operation (data sheets of the 25 series, from memory: 2 s for a block).
#define CHIP_MOST_us 2500000u
// The key must be off for this long before the box goes back to the image before.
#define KEY_OFF_us 100000u

static Loader loader;
static FrameDecoder decoders[LINK_WAYS]; // 0: the serial line; 1: USB
static Frame frame;
static uint32_t heard_us[LINK_WAYS]; // last whole frame
static bool agreed_speed;
static bool usb_on;
static uint32_t chip_begun_us;

void chip_erase_begin(uint32_t at, uint32_t bytes) {
  chip_begun_us = clock_us();
  flash_erase_begin(at, bytes);
}
void chip_program_begin(uint32_t at, const uint8_t *bytes, size_t length) {
  chip_begun_us = clock_us();
  flash_program_begin(at, bytes, length);
}
// A chip that stays busy counts as ready after a while: what is then read does not match, and the update fails with that.
bool chip_busy(void) { return flash_busy() && clock_us() - chip_begun_us < CHIP_MOST_us; }
// A slot is read for longer than a PC waits for endpoint 0.
void chip_read(uint32_t at, void *bytes, size_t length) {
  if (usb_on) (void)usb_quiet();
  flash_read(at, bytes, length);
}

void alarm_interrupt(void);
void alarm_interrupt(void) { REGISTER(TIMER_INTR) = BIT(0); }

// Sleeps until a byte arrives, at most a millisecond. With interrupts masked, a byte after the check still ends the sleep.
static void nap(void) {
  if (usb_waiting()) return;
  REGISTER(TIMER_ALARM(0)) = clock_us() + (usb_on ? USB_NAP_us : 1000u);
  __asm volatile("cpsid i" ::: "memory");
  if (!uart_waiting()) __asm volatile("wfi" ::: "memory");
  __asm volatile("cpsie i" ::: "memory");
}

static void startNaps(void) {
  SET_BITS(TIMER_INTE) = BIT(0);
  REGISTER(NVIC_ISER) = BIT(IRQ_TIMER_0);
}

static bool keyOn(void) { return (REGISTER(SIO_IN) & BIT(PIN_KEY)) == 0; }

// `kept`: what SCRATCH_RAN holds then.
_Noreturn static void restart(uint32_t cause, uint32_t kept) {
  uint32_t begun_us = clock_us();
  while (usb_on && !usb_quiet() && clock_us() - begun_us < USB_LAST_us) {
  }
  while (!uart_quiet()) {
  }
  while (chip_busy()) {
  }
  scratchPut(SCRATCH_CAUSE, cause);
  REGISTER(SCRATCH_RAN) = kept;
  resetNow();
}

static int take(uint32_t way) { return way == 0 ? uart_take() : usb_take(); }

static void answer(uint32_t way) {
  uint8_t line[LINE_MOST];
  size_t length = frame_line(&frame, line);
  if (way == 0) (void)uart_send(line, length);
  else (void)usb_send(line, length);
  if (loader.speed != 0 && way == 0) agreed_speed = uart_speed(loader.speed) && loader.speed != BAUD_AT_START;
  loader.speed = 0;
}

// Serves all frames that came this way. True when one of them asked for this service.
static bool serve(uint32_t way, uint32_t awaited) {
  bool came = false;
  for (int byte = take(way); byte >= 0; byte = take(way)) {
    if (!frame_take(&decoders[way], (uint8_t)byte, &frame)) continue;
    heard_us[way] = clock_us();
    loader.heard_ms[way] = loader.ms;
    loader.key_on = keyOn();
    uint8_t service = frame.service;
    if (!loader_answer(&loader, &frame, way)) continue;
    came |= service == awaited;
    answer(way);
  }
  return came;
}

// Jumps to the image, which stands in RAM since its SHA-256 was found right there.
_Noreturn static void startImage(const Reason *reason) {
  uint32_t slot = loader.update.boots;
  while (!uart_quiet()) {
  }
  __asm volatile("cpsid i" ::: "memory");
  REGISTER(NVIC_ICER) = 0xffffffffu;
  REGISTER(NVIC_ICPR) = 0xffffffffu;
  REGISTER(SCRATCH_CAUSE) = 0;
  scratchPut(SCRATCH_RAN, RAN_YOUNG | reason->failures | (reason->trial ? RAN_TRIAL : 0u));
  scratchPut(SCRATCH_HANDED, reason->cause | (slot << 8));
  watchdogStart(IMAGE_START_ms);
  REGISTER(SCB_VTOR) = BODY_RAM_AT;
  __asm volatile(
      "msr msp, %0\n"
      "cpsie i\n"
      "bx %1\n"
      :
      : "r"(REGISTER(BODY_RAM_AT)), "r"(REGISTER(BODY_RAM_AT + 4u))
      : "memory");
  __builtin_unreachable();
}

// Gives the image up that failed, once the key is off, and goes back to the one in `before`. Returns while the key is on, and
// while a host brings another image in.
static void goBack(uint32_t before, uint32_t *key_off_since_us) {
  uint32_t now_us = clock_us();
  if (keyOn() || loader.update.begun) *key_off_since_us = now_us;
  if (before == NO_SLOT || now_us - *key_off_since_us < KEY_OFF_us) return;
  *key_off_since_us = now_us;
  if (slots_give_up(loader.update.boots)) restart(RESTART_AT_ONCE | BOOT_ROLLED_BACK, 0);
}

// What is due without a request.
static void byTime(const Reason *reason, uint32_t now_us) {
  const Update *update = &loader.update;
  if (agreed_speed && now_us - heard_us[0] > SPEED_us) {
    agreed_speed = false;
    (void)uart_speed(BAUD_AT_START);
  }
  bool may_start = update->done || (update->boots != NO_SLOT && reason->cause != BOOT_IMAGE_FAILS);
  bool idle = now_us - heard_us[0] > IDLE_us && now_us - heard_us[1] > IDLE_us;
  if (!loader.restart && !(may_start && idle)) return;
  bool fresh = update->done && !update->written_before;
  restart(RESTART_AT_ONCE | (fresh ? BOOT_UPDATE : BOOT_RESTART), reason_kept(reason));
}

_Noreturn void loader_main(void);
void loader_main(void) {
  bool by_watchdog = REGISTER(WATCHDOG_REASON) != 0;
  uint32_t cause = REGISTER(SCRATCH_CAUSE), ran = REGISTER(SCRATCH_RAN);
  watchdogStop();
  REGISTER(SCRATCH_CAUSE) = 0;
  REGISTER(SCRATCH_RAN) = 0;
  clocks_start();
  pins_start_loader();
  uart_start(BAUD_AT_START);
  startNaps();
  flash_start();
  wire_image_head head;
  uint32_t boots = slots_newest(&head, (uint8_t *)BODY_RAM_AT);
  update_start(&loader.update, (uint8_t *)RECEIVE_RAM_AT, boots, &head, slots_highest());
  Reason reason = reason_of(by_watchdog, cause, ran, boots != NO_SLOT);
  loader.cause = reason.cause;
  loader.trial = reason.trial;
  // Of what the power cut has left there, some bits may be wrong; the box does not hear of it when a host keeps the loader.
  if (!by_watchdog) REGISTER(KEPT_RAM_AT) = 0;
  bool stay = reason.stay;
  uint32_t begun_us = clock_us();
  heard_us[0] = heard_us[1] = begun_us;
  while (!stay && !reason.at_once && clock_us() - begun_us < LISTEN_us) {
    nap();
    stay = serve(0, SERVICE_IDENTITY);
  }
  if (!stay) startImage(&reason);
  // Only here: a PC takes longer to find it than the listening lasts.
  usb_start();
  usb_on = true;
  REGISTER(SIO_OE_SET) = BIT(PIN_LED);
  REGISTER(PIN_CTRL(PIN_LED)) = FUNCTION_SIO;
  uint32_t before = reason.cause == BOOT_IMAGE_FAILS ? slots_before(boots) : NO_SLOT;
  update_keep(&loader.update, before);
  uint32_t counted_us = begun_us, key_off_since_us = begun_us;
  for (;;) {
    (void)serve(0, SERVICE_RESTART);
    (void)serve(1, SERVICE_RESTART);
    update_work(&loader.update);
    uint32_t now_us = clock_us();
    for (; now_us - counted_us >= 1000u; counted_us += 1000u) loader.ms++;
    if (heartbeat_lit(HEARTBEAT_LOADER, loader.ms)) pinsHigh(BIT(PIN_LED));
    else pinsLow(BIT(PIN_LED));
    goBack(before, &key_off_since_us);
    byTime(&reason, now_us);
    if (!update_working(&loader.update)) nap();
  }
}
