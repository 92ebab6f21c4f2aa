// Frames of the link, for the box and its loader: COBS, CRC-32, a decoder that accepts any bytes.
#ifndef STANDOFF_FRAME_H
#define STANDOFF_FRAME_H
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "wire.gen.h"

// Longest frame before stuffing, and on the line with its end (one byte more per 254, one 0 byte).
#define FRAME_MOST (PAYLOAD_MOST + FRAME_EXTRA)
#define LINE_MOST (FRAME_MOST + FRAME_MOST / 254 + 2)

typedef struct {
  uint8_t service;
  uint8_t status;
  uint16_t sequence;
  uint16_t length; // of the payload
  // Aligned, so that a layout can be read in place.
  _Alignas(4) uint8_t payload[PAYLOAD_MOST];
} Frame;

// Bytes since the last 0 byte. Start from all zeros.
typedef struct {
  uint16_t length;
  bool too_long; // discard until the next 0
  uint32_t refused; // lines that were not a valid frame
  uint8_t line[LINE_MOST];
} FrameDecoder;

// CRC-32 (IEEE 802.3, reflected; "123456789" gives CBF43926), continued from an earlier call; start with 0.
uint32_t crc32(uint32_t before, const void *bytes, size_t length);

// One byte in. True: *frame holds a valid frame. Constant memory, time bounded by LINE_MOST.
bool frame_take(FrameDecoder *decoder, uint8_t byte, Frame *frame);

// Writes the frame as it goes on the line, with its end, to line[LINE_MOST]; returns its length.
size_t frame_line(const Frame *frame, uint8_t *line);

#endif
