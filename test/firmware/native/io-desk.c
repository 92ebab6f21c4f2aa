#include <stdio.h>
#include <stdlib.h>

#include "io.h"

static FILE *file;

bool io_read(void *bytes, size_t length) { return fread(bytes, 1, length, file) == length; }
void io_print(const char *text) { fputs(text, stdout); }
void io_end(bool good) { exit(good ? 0 : 1); }

int main(int count, char **arguments) {
  file = count > 1 ? fopen(arguments[1], "rb") : stdin;
  if (file == NULL) return 2;
  io_main();
  return 0;
}
