// Writes a new image, one flash operation at a time. The slot that does not boot is erased, head first, which invalidates
// it, and programmed while bytes still arrive; the head page, programmed last, makes it valid. So a power cut after any
// operation, or within one, leaves the image that booted before, or the new one.
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
  uint32_t operation;         // the chip's current one
  uint8_t *body;              // BODY_MOST bytes of memory, for the body as received
} Update;

// `body` is the receive buffer, `boots` the slot that boots, `generation` its image's. Begins nothing.
void update_start(Update *update, uint8_t *body, uint32_t boots, uint32_t generation);
// Each answers a STATUS_*.
// The same head again resumes the update; another one starts over.
uint32_t update_begin(Update *update, const wire_image_head *head, bool key_on);
// Bytes at an offset not beyond those received; bytes already received are skipped.
uint32_t update_write(Update *update, uint32_t offset, const uint8_t *bytes, uint32_t length);
// STATUS_BUSY while flash operations are pending: ask again. STATUS_DONE once the new image is valid.
uint32_t update_finish(Update *update, bool key_on);
wire_update_state update_state(const Update *update);
// Advances by at most one flash operation. Call it repeatedly.
void update_work(Update *update);
// True while the chip carries out an operation of the update.
bool update_working(const Update *update);

#endif
