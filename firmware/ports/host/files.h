// What survives the program: flash chip and kept memory, as memory-mapped files.
#ifndef STANDOFF_FILES_H
#define STANDOFF_FILES_H
#include <stddef.h>
#include <stdint.h>

// Opens the file, or makes one filled with `fresh`. Ends the program when that fails.
uint8_t *files_map(const char *folder, const char *name, size_t bytes, uint8_t fresh);

#endif
