// The link of box-host as a TCP connection, one at a time. It survives the program's restart.
#ifndef STANDOFF_SOCKET_H
#define STANDOFF_SOCKET_H
#include <poll.h>
#include <stdint.h>

// Listens at this port of this machine (0: any) and prints which.
void socket_start(uint16_t port);
// What to wait for.
struct pollfd socket_poll(void);
// Takes and gives bytes, as many as go without waiting.
void socket_exchange(void);
// Before the program starts itself again.
void socket_keep(void);

#endif
