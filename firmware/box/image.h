// The image that runs, and what stands in the slots.
#ifndef STANDOFF_IMAGE_H
#define STANDOFF_IMAGE_H
#include "frame.h"
#include "slot.h"

// Once, before the parameters are loaded.
void image_read_head(void);
// Head of the image that runs; zeros when its slot has none.
const wire_image_head *image_head(void);
// The slot that does not run has a whole head: it is in *head.
bool image_other(wire_image_head *head);
// Answers the service `slot`, in place; a STATUS_*. Takes some 0.1 s, during which ticks go on.
// `origin`: ORIGIN_*, of the parameters in use.
uint32_t image_slot(Frame *frame, uint32_t origin);

#endif
