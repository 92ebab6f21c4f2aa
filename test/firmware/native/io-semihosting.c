// Calls to the emulator's host as Arm's "Semihosting for AArch32 and AArch64" describes them (memory): BKPT 0xAB with the
// number of the operation in r0 and its arguments' place in r1.
#include "io.h"

#define SYS_OPEN 0x01
#define SYS_WRITE0 0x04
#define SYS_READ 0x06
#define SYS_EXIT 0x18
#define OPEN_READ_BINARY 1
#define ENDED_WELL 0x20026u
#define ENDED_BADLY 0x20023u
#define STACK_TOP 0x20040000u

static uint32_t file;

static uint32_t ask(uint32_t operation, const void *arguments) {
  register uint32_t r0 __asm("r0") = operation;
  register const void *r1 __asm("r1") = arguments;
  __asm volatile("bkpt 0xab" : "+r"(r0) : "r"(r1) : "memory");
  return r0;
}

bool io_read(void *bytes, size_t length) {
  const uint32_t arguments[] = {file, (uint32_t)bytes, length};
  return ask(SYS_READ, arguments) == 0;
}
void io_print(const char *text) { ask(SYS_WRITE0, text); }
void io_end(bool good) {
  ask(SYS_EXIT, (const void *)(good ? ENDED_WELL : ENDED_BADLY));
  for (;;) {
  }
}

static void start(void) {
  static const char NAME[] = IO_FILE;
  const uint32_t arguments[] = {(uint32_t)NAME, OPEN_READ_BINARY, sizeof NAME - 1};
  file = ask(SYS_OPEN, arguments);
  io_main();
  io_end(true);
}

static void fault(void) {
  io_print("fault\n");
  io_end(false);
}

__attribute__((section(".vectors"), used)) static const void *const VECTORS[] = {
    (void *)STACK_TOP, (void *)start, (void *)fault, (void *)fault, (void *)fault, (void *)fault, (void *)fault,
};
