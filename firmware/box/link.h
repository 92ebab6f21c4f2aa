// The link, served by the idle loop: frames in, answers and telemetry out, silence, speed. Losing it changes no output.
#ifndef STANDOFF_LINK_H
#define STANDOFF_LINK_H
#include <stdbool.h>

// Once, before anything is sent.
void link_start(void);
// Serves at most one request and sends telemetry. True: there may be more to do at once.
bool link_work(void);

#endif
