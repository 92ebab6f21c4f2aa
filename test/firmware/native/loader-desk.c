// The loader's services on the desk: bytes of the line in at stdin, its answers out at stdout. The flash chip is the file
// in the first argument, written back at the end. A byte 01 between frames (no frame is one byte long) turns the key.
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "chip-model.h"
#include "services.h"
#include "slots.h"

static Loader loader;
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
  uint32_t boots = slots_newest(&loader.boots);
  update_start(&loader.update, receive, boots, loader.boots.generation);
  loader.cause = boots == NO_SLOT ? BOOT_NO_IMAGE : BOOT_LOADER;
  for (int byte = getchar(); byte != EOF; byte = getchar()) {
    if (byte == 0 && decoder.length == 1 && decoder.line[0] == 1) loader.key_on = !loader.key_on;
    if (!frame_take(&decoder, (uint8_t)byte, &frame)) continue;
    loader.ms++;
    if (loader_answer(&loader, &frame)) {
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
