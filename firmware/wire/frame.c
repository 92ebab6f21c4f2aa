#include "frame.h"

#define POLYNOMIAL 0xedb88320u // IEEE 802.3, reflected
#define BLOCK_MOST 254u        // bytes that one COBS code can announce

// Half a byte at a time: sixteen words of table, and no start-up work.
static const uint32_t TABLE[16] = {
    0x00000000u, 0x1db71064u, 0x3b6e20c8u, 0x26d930acu, 0x76dc4190u, 0x6b6b51f4u, 0x4db26158u, 0x5005713cu,
    0xedb88320u, 0xf00f9344u, 0xd6d6a3e8u, 0xcb61b38cu, 0x9b64c2b0u, 0x86d3d2d4u, 0xa00ae278u, 0xbdbdf21cu,
};
_Static_assert(POLYNOMIAL == 0xedb88320u, "the table belongs to this polynomial");

uint32_t crc32(uint32_t before, const void *bytes, size_t length) {
  const uint8_t *byte = bytes;
  uint32_t crc = ~before;
  for (size_t at = 0; at < length; at++) {
    crc ^= byte[at];
    crc = (crc >> 4) ^ TABLE[crc & 15u];
    crc = (crc >> 4) ^ TABLE[crc & 15u];
  }
  return ~crc;
}

static uint16_t u16At(const uint8_t *bytes) { return (uint16_t)(bytes[0] | (uint32_t)bytes[1] << 8); }

static uint32_t u32At(const uint8_t *bytes) { return u16At(bytes) | (uint32_t)u16At(bytes + 2) << 16; }

// Takes the stuffing out in place: what comes out is never longer than what went in. Returns the length, or 0 when the
// line is no COBS.
static size_t unstuff(uint8_t *line, size_t length) {
  size_t from = 0;
  size_t to = 0;
  while (from < length) {
    size_t code = line[from++];
    size_t block = code - 1;
    if (block > length - from) return 0;
    for (size_t at = 0; at < block; at++) line[to++] = line[from++];
    if (code <= BLOCK_MOST && from < length) line[to++] = 0;
  }
  return to;
}

// A whole line in the decoder: is it a frame?
static bool whole(FrameDecoder *decoder, Frame *frame) {
  size_t length = unstuff(decoder->line, decoder->length);
  if (length < FRAME_EXTRA || length > FRAME_MOST) return false;
  const uint8_t *line = decoder->line;
  size_t body = length - 4;
  if (u32At(line + body) != crc32(0, line, body)) return false;
  frame->service = line[0];
  frame->status = line[1];
  frame->sequence = u16At(line + 2);
  frame->length = (uint16_t)(body - 4);
  for (size_t at = 0; at < frame->length; at++) frame->payload[at] = line[4 + at];
  return true;
}

bool frame_take(FrameDecoder *decoder, uint8_t byte, Frame *frame) {
  if (byte != 0) {
    // The end of a line is not stored, so that a line of LINE_MOST with it fits.
    if (decoder->length >= LINE_MOST - 1) decoder->too_long = true;
    else decoder->line[decoder->length++] = byte;
    return false;
  }
  bool empty = decoder->length == 0 && !decoder->too_long;
  bool good = !empty && !decoder->too_long && whole(decoder, frame);
  if (!empty && !good) decoder->refused++;
  decoder->length = 0;
  decoder->too_long = false;
  return good;
}

// Where a line is being stuffed: the place of the code of the block that is open, and where the next byte goes.
typedef struct {
  uint8_t *line;
  size_t code_at;
  size_t next;
} Stuffing;

static void stuff(Stuffing *out, uint8_t byte) {
  if (byte != 0) out->line[out->next++] = byte;
  size_t code = out->next - out->code_at;
  if (byte != 0 && code <= BLOCK_MOST) return;
  out->line[out->code_at] = (uint8_t)code;
  out->code_at = out->next++;
}

size_t frame_line(const Frame *frame, uint8_t *line) {
  uint8_t head[4] = {frame->service, frame->status, (uint8_t)frame->sequence, (uint8_t)(frame->sequence >> 8)};
  uint32_t crc = crc32(crc32(0, head, sizeof head), frame->payload, frame->length);
  Stuffing out = {.line = line, .code_at = 0, .next = 1};
  for (size_t at = 0; at < sizeof head; at++) stuff(&out, head[at]);
  for (size_t at = 0; at < frame->length; at++) stuff(&out, frame->payload[at]);
  for (unsigned shift = 0; shift < 32; shift += 8) stuff(&out, (uint8_t)(crc >> shift));
  line[out.code_at] = (uint8_t)(out.next - out.code_at);
  line[out.next++] = 0;
  return out.next;
}
