// What the loader answers over the link. No register is touched here, so it can be fed anything on the desk.
#ifndef STANDOFF_SERVICES_H
#define STANDOFF_SERVICES_H
#include <stdbool.h>
#include <stdint.h>

#include "frame.h"
#include "update.h"

typedef struct {
  Update update;
  wire_image_head boots; // head of the image that boots, zeros for none
  uint32_t cause;        // BOOT_*, of this start
  bool key_on;           // to be kept up to date by the caller
  uint32_t ms;           // since the start, likewise
  // What the caller is to do once the answer has gone:
  uint32_t speed; // take this speed of the line; 0: none
  bool restart;
} Loader;

// Turns a request into its answer, in place. False: no answer (it was an answer or a stream itself).
bool loader_answer(Loader *loader, Frame *frame);

#endif
