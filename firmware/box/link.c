#include "link.h"

#include "events.h"
#include "frame.h"
#include "lockstep.h"
#include "parameters.h"
#include "port.h"
#include "services.h"
#include "status.h"
#include "telemetry.h"

// Without a whole frame for this long the host counts as gone.
#define SILENCE_ms 1000u
// From the port's empty buffer until the last byte has left the chip, at the lowest speed.
#define LAST_BYTES_ms 50u

static FrameDecoder decoder;
static Frame frame;
static uint8_t line[LINE_MOST];
static bool linked;
static uint32_t heard_at;
static bool leaving;
static uint32_t leave_at;
static size_t whole_room;

void link_start(void) {
  whole_room = port_link_room();
  leaving = false;
}

static void send(void) { (void)port_link_send(line, frame_line(&frame, line)); }

static void heard(void) {
  heard_at = tick_number();
  if (linked) return;
  linked = true;
  events_add_idle(EVENT_LINK, 1, 0);
}

// The next host finds the link as after a start.
static void lose(void) {
  linked = false;
  telemetry_request(0);
  parameters_forget();
  (void)port_link_speed(BAUD_AT_START);
  events_add_idle(EVENT_LINK, 0, 0);
}

static void answer(void) {
  Afterwards afterwards;
  if (!services_answer(&frame, &afterwards)) return;
  send();
  // The port changes its speed after everything queued has been sent.
  if (afterwards.speed != 0) (void)port_link_speed(afterwards.speed);
  if (!afterwards.loader) return;
  leaving = true;
  telemetry_request(0);
  leave_at = tick_number() + LAST_BYTES_ms;
}

// Restarts into the loader once the answer is out, unless the key was turned on in the meantime.
static void leave(void) {
  if (services_may_leave() != STATUS_DONE) {
    leaving = false;
    return;
  }
  if (port_link_room() < whole_room) leave_at = tick_number() + LAST_BYTES_ms;
  else if ((int32_t)(tick_number() - leave_at) >= 0) port_restart(BOOT_LOADER);
}

// Takes bytes only while the send buffer has room for an answer, so that no answer is lost here.
static bool serve(void) {
  while (port_link_room() >= LINE_MOST) {
    int byte = port_link_take();
    if (byte < 0) return false;
    if (!frame_take(&decoder, (uint8_t)byte, &frame)) continue;
    heard();
    answer();
    // Time spent on the request does not count as silence.
    heard_at = tick_number();
    return true;
  }
  return false;
}

static void stream(void) {
  while (port_link_room() >= 2u * LINE_MOST && telemetry_take(&frame)) send();
}

bool link_work(void) {
  bool more = serve();
  stream();
  lockstep_work();
  if (leaving) leave();
  if (linked && !more && tick_number() - heard_at > SILENCE_ms) lose();
  return more;
}
