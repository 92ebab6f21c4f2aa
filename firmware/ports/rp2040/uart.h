// UART0 with a ring buffer each way, served by its interrupt. Used by box and loader.
#ifndef STANDOFF_UART_H
#define STANDOFF_UART_H
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

void uart_start(uint32_t baud);
// One byte received, or -1. Also changes the speed once everything queued has been sent.
int uart_take(void);
// True when there is a byte to take.
bool uart_waiting(void);
size_t uart_room(void);
// False: no room, nothing sent.
bool uart_send(const uint8_t *bytes, size_t length);
// True when the UART can run at this speed; it changes once everything queued has been sent.
bool uart_speed(uint32_t baud);
// True when everything sent has left the pin.
bool uart_quiet(void);
void uart_interrupt(void);

#endif
