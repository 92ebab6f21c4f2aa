// Without a C library: sqrtf and nearbyintf are in rounding.c. The others are named by the generated code and called by
// no function of the control module; if it ever does, linking fails and says which.
#ifndef STANDOFF_MATH_H
#define STANDOFF_MATH_H
#define isnan(x) __builtin_isnan(x)
#define signbit(x) __builtin_signbit(x)
#define INFINITY __builtin_inff()
#define NAN __builtin_nanf("")
float sqrtf(float value);
float nearbyintf(float value);
float floorf(float value);
float ceilf(float value);
float truncf(float value);
float fabsf(float value);
float copysignf(float value, float sign);
double sqrt(double value);
double nearbyint(double value);
double floor(double value);
double ceil(double value);
double trunc(double value);
double fabs(double value);
double copysign(double value, double sign);
#endif
