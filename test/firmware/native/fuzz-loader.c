// libFuzzer's way into the loader's services and its update: bytes on the line, or whole frames, with the key on or off and
// the flash chip a little further after each. Whatever comes, an image that could be started stands somewhere, unless the
// chip never held one.
#include <stdlib.h>
#include <string.h>

#include "chip-model.h"
#include "chip.h"
#include "services.h"
#include "sha256.h"
#include "slots.h"

#define KEY_ON 1u
#define FRAMES 2u
#define FRAME_HEAD 2u
#define OLD_BYTES 600u
#define OLD_GENERATION 7u

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t length);

static Loader loader;
static FrameDecoder decoder;
static Frame frame;
static uint8_t receive[BODY_MOST];

// One image in slot 0.
static void placeImage(void) {
  memset(chip_bytes + SLOT_0_AT, 0xff, SLOT_1_AT - SLOT_0_AT + SLOT_BYTES);
  uint8_t *body = chip_bytes + SLOT_0_AT + PAGE_BYTES;
  for (uint32_t i = 0; i < OLD_BYTES; i++) body[i] = (uint8_t)(i * 7u);
  wire_image_head head = {
      .magic = IMAGE_MAGIC,
      .format = IMAGE_FORMAT,
      .board = BOARD_KIND,
      .length = OLD_BYTES,
      .body_crc = crc32(0, body, OLD_BYTES),
      .generation = OLD_GENERATION,
      .entry = BODY_RAM_AT,
  };
  Sha256 sha;
  sha256_begin(&sha);
  sha256_add(&sha, body, OLD_BYTES);
  sha256_end(&sha, head.image_sha256);
  head.head_crc = crc32(0, &head, __builtin_offsetof(wire_image_head, head_crc));
  memcpy(chip_bytes + SLOT_0_AT, &head, sizeof head);
}

static void work(void) {
  for (int i = 0; i < 8; i++) update_work(&loader.update);
}

static void takeByte(uint8_t byte) {
  static uint8_t line[LINE_MOST];
  if (!frame_take(&decoder, byte, &frame)) return;
  if (loader_answer(&loader, &frame, 0) && frame_line(&frame, line) > LINE_MOST) abort();
  work();
}

static void takeFrame(const uint8_t *bytes, size_t length) {
  static Frame given;
  static uint8_t line[LINE_MOST];
  given = (Frame){.service = bytes[0], .length = (uint16_t)length};
  memcpy(given.payload, bytes + FRAME_HEAD, length);
  // Heads with a right checksum, or no fuzzer would ever get past it.
  if (given.service == SERVICE_UPDATE_BEGIN && length == sizeof(wire_image_head)) {
    uint32_t crc = crc32(0, given.payload, __builtin_offsetof(wire_image_head, head_crc));
    memcpy(given.payload + __builtin_offsetof(wire_image_head, head_crc), &crc, sizeof crc);
  }
  size_t on_line = frame_line(&given, line);
  for (size_t i = 0; i < on_line; i++) takeByte(line[i]);
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t length) {
  if (length == 0) return 0;
  uint8_t mode = *bytes++;
  length--;
  placeImage();
  chip_power_up();
  memset(&loader, 0, sizeof loader);
  memset(&decoder, 0, sizeof decoder);
  wire_image_head in_force;
  uint32_t boots = slots_newest(&in_force, 0);
  if (boots != 0) abort();
  update_start(&loader.update, receive, boots, &in_force, slots_highest());
  loader.key_on = (mode & KEY_ON) != 0;
  while ((mode & FRAMES) != 0 && length > FRAME_HEAD) {
    size_t payload = (size_t)bytes[1] % (PAYLOAD_MOST / 4u + 1u) * 4u;
    if (payload > length - FRAME_HEAD) payload = length - FRAME_HEAD;
    takeFrame(bytes, payload);
    bytes += FRAME_HEAD + payload;
    length -= FRAME_HEAD + payload;
  }
  for (size_t i = 0; (mode & FRAMES) == 0 && i < length; i++) takeByte(bytes[i]);
  if (loader.update.begun && loader.update.received > loader.update.head.length) abort();
  // The power fails now, between two operations.
  while (chip_busy()) {
  }
  wire_image_head head;
  uint32_t newest = slots_newest(&head, 0);
  if (newest == NO_SLOT) abort();
  if ((mode & KEY_ON) != 0 && (newest != 0 || head.generation != OLD_GENERATION || chip_operations != 0)) abort();
  return 0;
}
