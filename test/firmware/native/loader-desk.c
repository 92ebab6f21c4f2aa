// The loader's services on the desk: bytes of the line in at stdin, its answers out at stdout. The flash chip is the file
// in the first argument, written back at the end. A byte alone between frames (no frame is one byte long): 01 turns the key,
// 02 goes to the other way, 03 lets two seconds pass.
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "chip-model.h"
#include "services.h"
#include "slots.h"

static Loader loader;
static uint32_t way;
static FrameDecoder decoder;
static Frame frame;
static uint8_t receive[BODY_MOST];

int main(int count, char **arguments) {
  if (count < 2) return 2;
  FILE *file = fopen(arguments[1], "rb");
  if (file == NULL || fread(chip_bytes, 1, FLASH_BYTES, file) != FLASH_BYTES) return 2;
  fclose(file);
  chip_deaf = count > 2 && strcmp(arguments[2], "deaf") == 0;
  chip_power_up();
  wire_image_head head;
  uint32_t boots = slots_newest(&head, 0);
  update_start(&loader.update, receive, boots, &head, slots_highest());
  loader.cause = boots == NO_SLOT ? BOOT_NO_IMAGE : BOOT_LOADER;
  for (int byte = getchar(); byte != EOF; byte = getchar()) {
    uint8_t alone = byte == 0 && decoder.length == 1 ? decoder.line[0] : 0;
    if (alone == 1) loader.key_on = !loader.key_on;
    if (alone == 2) way = 1u - way;
    if (alone == 3) loader.ms += 2000u;
    if (!frame_take(&decoder, (uint8_t)byte, &frame)) continue;
    loader.ms++;
    loader.heard_ms[way] = loader.ms;
    if (loader_answer(&loader, &frame, way)) {
      uint8_t line[LINE_MOST];
      fwrite(line, 1, frame_line(&frame, line), stdout);
    }
    for (int i = 0; i < 8; i++) update_work(&loader.update);
  }
  file = fopen(arguments[1], "wb");
  if (file == NULL || fwrite(chip_bytes, 1, FLASH_BYTES, file) != FLASH_BYTES) return 2;
  fclose(file);
  return loader.restart ? 3 : 0;
}
