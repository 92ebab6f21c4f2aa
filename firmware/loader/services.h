// The loader's services over the link. They touch no register, so tests can feed them anything.
#ifndef STANDOFF_SERVICES_H
#define STANDOFF_SERVICES_H
#include <stdbool.h>
#include <stdint.h>

#include "board.gen.h"
#include "frame.h"
#include "update.h"

typedef struct {
  Update update;
  uint32_t cause; // BOOT_*, of this start
  bool trial;     // the image that boots is on trial
  // Kept up to date by the caller:
  bool key_on;
  uint32_t ms;                  // since the start
  uint32_t heard_ms[LINK_WAYS]; // when a whole frame last came this way
  uint32_t owner;               // way over which the update was begun
  // For the caller to do once the answer has been sent:
  uint32_t speed; // change the line to this speed; 0: no change
  bool restart;
} Loader;

// Turns a request that came over a way into its answer, in place. False: no answer (it was an answer or a stream itself).
// What is about an update is refused to all ways but the one that began it, until that one is silent for a second.
bool loader_answer(Loader *loader, Frame *frame, uint32_t way);

#endif
