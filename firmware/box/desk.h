// The desk state of a box that is not wired, or stands in a fault: the port holds the outputs at rest until a restart, so
// parameters, image and lockstep are refused for nothing but the key. Parameters count after the restart.
#ifndef STANDOFF_DESK_H
#define STANDOFF_DESK_H
#include <stdint.h>

// STATUS_*. Key off, at rest or in a fault, no output but the latched stop set. In the desk state already: done. From the idle loop.
uint32_t desk_begin(void);
// STATUS_DONE when the box may restart now: only from the desk state.
uint32_t desk_may_end(void);

#endif
