#include "files.h"

#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>
#include <sys/stat.h>
#include <unistd.h>

uint8_t *files_map(const char *folder, const char *name, size_t bytes, uint8_t fresh) {
  char path[1024];
  snprintf(path, sizeof path, "%s/%s", folder, name);
  int file = open(path, O_RDWR | O_CREAT | O_CLOEXEC, 0644);
  struct stat now;
  if (file < 0 || fstat(file, &now) != 0 || ftruncate(file, (off_t)bytes) != 0) {
    perror(path);
    exit(2);
  }
  uint8_t *memory = mmap(NULL, bytes, PROT_READ | PROT_WRITE, MAP_SHARED, file, 0);
  close(file);
  if (memory == MAP_FAILED) {
    perror(path);
    exit(2);
  }
  if ((size_t)now.st_size < bytes) memset(memory + now.st_size, fresh, bytes - (size_t)now.st_size);
  return memory;
}
