// Input and output of the programs that run on the desk (io-desk.c) and on an emulated processor (io-semihosting.c).
#ifndef IO_H
#define IO_H
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

// The next bytes of the file named by the program's build (IO_FILE). False: there are no more.
bool io_read(void *bytes, size_t length);
void io_print(const char *text);
_Noreturn void io_end(bool good);
// What the program does.
void io_main(void);

static inline void io_hex(uint32_t word) {
  char text[10];
  for (unsigned i = 0; i < 8; i++) text[i] = "0123456789abcdef"[(word >> (28u - 4u * i)) & 15u];
  text[8] = '\n';
  text[9] = 0;
  io_print(text);
}

#endif
