// The loader's services over the link. They touch no register, so tests can feed them anything.
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
  bool key_on;           // kept up to date by the caller
  uint32_t ms;           // since the start; kept up to date by the caller
  // For the caller to do once the answer has been sent:
  uint32_t speed; // change the line to this speed; 0: no change
  bool restart;
} Loader;

// Turns a request into its answer, in place. False: no answer (it was an answer or a stream itself).
bool loader_answer(Loader *loader, Frame *frame);

#endif
