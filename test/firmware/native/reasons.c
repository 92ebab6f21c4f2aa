// One line of stdin a start: by_watchdog, cause and ran as in the scratch registers, image_valid. One line of stdout each.
#include <stdio.h>

#include "reason.h"

int main(void) {
  unsigned by_watchdog, cause, ran, valid;
  while (scanf("%u %x %x %u", &by_watchdog, &cause, &ran, &valid) == 4) {
    Reason reason = reason_of(by_watchdog != 0, cause, ran, valid != 0);
    printf("%u %u %d %d %d %x\n", reason.cause, reason.failures, reason.stay, reason.at_once, reason.trial, reason_kept(&reason));
  }
  return 0;
}
