// What is carried through a reset, between loader and box: words that the port keeps where a reset leaves them alone.
#ifndef STANDOFF_HANDOVER_H
#define STANDOFF_HANDOVER_H

#define RESET_MARK 0x534e0000u // in the upper half of each word that is ours
#define RESET_MARK_MASK 0xffff0000u
#define RESTART_AT_ONCE 0x80u // with the cause: no listening before the image starts
#define RAN_TRIAL 0x100u      // the image is new, and on trial
#define RAN_YOUNG 0x80u       // the image's first second was not over, or its trial
#define RAN_FAILURES 0x7fu    // earlier starts in a row that ended within it

#endif
