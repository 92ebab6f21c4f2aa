// Without a C library: what the compiler and the generated code call, found in rp2040/memory.c.
#ifndef STANDOFF_STRING_H
#define STANDOFF_STRING_H
#include <stddef.h>
void *memcpy(void *restrict to, const void *restrict from, size_t length);
void *memmove(void *to, const void *from, size_t length);
void *memset(void *to, int value, size_t length);
int memcmp(const void *left, const void *right, size_t length);
#endif
