// Without a C library: named by the generated code, never called.
#ifndef STANDOFF_ALLOCA_H
#define STANDOFF_ALLOCA_H
#endif
