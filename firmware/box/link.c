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
// A host that takes nothing any more keeps no box from its restart.
#define LEAVE_MOST_ms 1000u
// A key whose contact chatters does not push everything else out of the ring.
#define KEY_NOTES_EVERY_ms 1000u

// A way to a host, with a decoder of its own: answers go back the way the request came.
typedef struct {
  FrameDecoder decoder;
  bool linked;
  uint32_t heard_at;
  size_t whole_room;
} Way;

static Way ways[LINK_WAYS];
static Frame frame;
static uint8_t line[LINE_MOST];
// What belongs to the way over which it was begun, until it ends or that way is silent.
enum { LOCKSTEP, STAGED, STREAM, THINGS, NOTHING = THINGS };
static uint32_t owner[THINGS];
static bool leaving;
static uint32_t leave_at, leave_by, leave_for; // ticks, BOOT_*

void link_start(void) {
  for (uint32_t way = 0; way < LINK_WAYS; way++) ways[way].whole_room = port_link_room(way);
  leaving = false;
}

static void send(uint32_t way) { (void)port_link_send(way, line, frame_line(&frame, line)); }

static void heard(uint32_t way) {
  ways[way].heard_at = tick_number();
  if (ways[way].linked) return;
  ways[way].linked = true;
  events_add_idle(EVENT_LINK, 1, (int32_t)way);
}

// The next host finds this way as after a start; what came the other way stays.
static void lose(uint32_t way) {
  ways[way].linked = false;
  if (way == owner[STREAM]) telemetry_request(0);
  if (way == owner[STAGED]) parameters_forget();
  (void)port_link_speed(way, BAUD_AT_START);
  events_add_idle(EVENT_LINK, 0, (int32_t)way);
}

static uint32_t thingOf(uint32_t service) {
  switch (service) {
    case SERVICE_LOCKSTEP_BEGIN:
    case SERVICE_LOCKSTEP_TICKS:
    case SERVICE_LOCKSTEP_PARAMETER:
    case SERVICE_LOCKSTEP_END:
      return LOCKSTEP;
    case SERVICE_PARAMETERS_STAGE:
    case SERVICE_PARAMETERS_CHECK:
    case SERVICE_PARAMETERS_COMMIT:
      return STAGED;
    case SERVICE_TELEMETRY:
      return STREAM;
    default:
      return NOTHING;
  }
}

static bool inHand(uint32_t thing) {
  if (thing == LOCKSTEP) return lockstep_runs();
  return thing == STAGED ? parameters_staged() > 0 : telemetry_runs();
}

static void answer(uint32_t way) {
  Afterwards afterwards;
  uint32_t thing = thingOf(frame.service);
  bool elsewhere = thing != NOTHING && owner[thing] != way && ways[owner[thing]].linked && inHand(thing);
  if (!services_answer(&frame, way, elsewhere, &afterwards)) return;
  if (thing != NOTHING && frame.status == STATUS_DONE) owner[thing] = way;
  send(way);
  port_answered();
  // The port changes its speed after everything queued has been sent.
  if (afterwards.speed != 0) (void)port_link_speed(way, afterwards.speed);
  if (!afterwards.leave) return;
  leaving = true;
  leave_for = afterwards.cause;
  telemetry_request(0);
  leave_at = tick_number() + LAST_BYTES_ms;
  leave_by = tick_number() + LEAVE_MOST_ms;
}

// Restarts once all answers are out, unless the key was turned on in the meantime.
static void leave(void) {
  if (services_may_leave() != STATUS_DONE) {
    leaving = false;
    return;
  }
  for (uint32_t way = 0; way < LINK_WAYS; way++) {
    if (ways[way].linked && port_link_room(way) < ways[way].whole_room) leave_at = tick_number() + LAST_BYTES_ms;
  }
  bool sent = (int32_t)(tick_number() - leave_at) >= 0;
  if (sent || (int32_t)(tick_number() - leave_by) >= 0) port_restart(leave_for);
}

// Takes bytes only while the send buffer has room for an answer, so that no answer is lost here.
static bool serve(uint32_t way) {
  while (port_link_room(way) >= LINE_MOST) {
    int byte = port_link_take(way);
    if (byte < 0) return false;
    if (!frame_take(&ways[way].decoder, (uint8_t)byte, &frame)) continue;
    heard(way);
    answer(way);
    // Time spent on the request does not count as silence.
    ways[way].heard_at = tick_number();
    return true;
  }
  return false;
}

static void stream(void) {
  while (port_link_room(owner[STREAM]) >= 2u * LINE_MOST && telemetry_take(&frame)) send(owner[STREAM]);
}

// A bare USB cable ties the box's logic zero to the earth of the PC: with an arc that is none of its places.
static void noteKey(void) {
  static bool was;
  static uint32_t noted_at;
  uint32_t open = 0;
  while (open < LINK_WAYS && !port_link_open(open)) open++;
  bool is = open < LINK_WAYS && status_key_on();
  bool again = noted_at == 0 || tick_number() - noted_at >= KEY_NOTES_EVERY_ms;
  if (is && !was && again) {
    noted_at = tick_number();
    events_add_idle(EVENT_KEY_USB, open, 0);
  }
  if (!is || again) was = is;
}

bool link_work(void) {
  // Nothing that is asked now would be in force after the restart.
  if (leaving) {
    leave();
    return false;
  }
  bool more = false;
  for (uint32_t way = 0; way < LINK_WAYS; way++) {
    bool here = serve(way);
    if (ways[way].linked && !here && tick_number() - ways[way].heard_at > SILENCE_ms) lose(way);
    more |= here;
  }
  stream();
  noteKey();
  lockstep_work();
  return more;
}
