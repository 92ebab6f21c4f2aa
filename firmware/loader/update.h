// Writes a new image, one flash operation at a time. The slot that does not boot, or whose image fails, is erased, which invalidates it, and
// programmed while bytes still arrive; the head page, programmed last, makes it valid. So a power cut after any operation, or
// within one, leaves the image that booted before, or the new one.
#ifndef STANDOFF_UPDATE_H
#define STANDOFF_UPDATE_H
#include <stdbool.h>
#include <stdint.h>

#include "sha256.h"
#include "wire.gen.h"

typedef struct {
  uint32_t boots;           // slot that boots, NO_SLOT for none
  uint32_t keeps;           // slot that is never written, where what boots fails: the one before; NO_SLOT: the one that boots
  wire_image_head in_force; // head of its image; zeros for none
  uint32_t highest;         // generation that any slot has
  bool begun, finishing, done;
  bool written_before; // the image that boots is the one that was announced: nothing is written
  uint32_t failed;      // STATUS_*: why it cannot go on; 0: it can
  wire_image_head head; // as announced; when marked with its generation and checksum
  uint32_t slot;
  uint32_t generation;        // of the image once marked
  uint32_t received, written; // bytes of the body
  uint32_t erased;            // bytes of the slot
  uint32_t operation;         // the chip's current one
  Sha256 sha;                 // of the body as read back
  uint8_t *body;              // BODY_MOST bytes of memory, for the body as received
} Update;

// `body` is the receive buffer, `boots` the slot that boots and `in_force` its head, `highest` the highest generation of any
// slot. Begins nothing.
void update_start(Update *update, uint8_t *body, uint32_t boots, const wire_image_head *in_force, uint32_t highest);
// What boots fails: an update takes its place, and leaves this slot alone; NO_SLOT: nothing fails.
void update_keep(Update *update, uint32_t slot);
// Each answers a STATUS_*.
// The same head again resumes the update; another one starts over. The head of the image that boots: all of it is there.
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
