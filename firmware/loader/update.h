// Writing a new image, in steps of one flash operation. The slot that does not boot is erased (its head first, so it
// counts no more) and programmed while bytes still come; the head page, programmed last, is the mark that makes it count.
// So a power cut after any operation, or within one, leaves the image that booted before, or the new one.
#ifndef STANDOFF_UPDATE_H
#define STANDOFF_UPDATE_H
#include <stdbool.h>
#include <stdint.h>

#include "wire.gen.h"

typedef struct {
  uint32_t boots;            // slot that boots, NO_SLOT for none
  uint32_t boots_generation; // of its image; 0 for none
  bool begun, finishing, done, failed;
  wire_image_head head; // as announced; when marked with its generation and checksum
  uint32_t slot;
  uint32_t generation; // of the image once marked
  uint32_t received, written; // bytes of the body
  uint32_t erased;            // sectors of the slot
  uint32_t operation;         // that the chip is at
  uint8_t *body;              // BODY_MOST bytes of memory, for the body as received
} Update;

// `body` is kept, `boots` is the slot that boots and `generation` its image's. Nothing is begun.
void update_start(Update *update, uint8_t *body, uint32_t boots, uint32_t generation);
// Each answers a STATUS_*.
// The same head again goes on where it stood; another one begins again.
uint32_t update_begin(Update *update, const wire_image_head *head, bool key_on);
// Bytes at a place not beyond those received; what is there already is passed over.
uint32_t update_write(Update *update, uint32_t offset, const uint8_t *bytes, uint32_t length);
// STATUS_BUSY as long as flash operations are due: ask again. STATUS_DONE once the new image counts.
uint32_t update_finish(Update *update, bool key_on);
wire_update_state update_state(const Update *update);
// Goes on by at most one flash operation. To be called again and again.
void update_work(Update *update);
// True while the chip is at an operation of the update.
bool update_working(const Update *update);

#endif
