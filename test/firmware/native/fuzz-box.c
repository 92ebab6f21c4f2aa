// libFuzzer's way into the box: any bytes at all on the line, and whole frames of any service with any payload, between
// ticks with any inputs. The first byte says which of the two, and whether the key is on. Sanitizers watch; besides, with
// the key on nothing is written to flash and no parameter changes, and whatever comes, nothing fires.
#include <setjmp.h>
#include <stdlib.h>
#include <string.h>

#include "frame.h"
#include "host.h"
#include "lockstep.h"
#include "module.h"
#include "parameters.h"
#include "telemetry.h"

#define KEY_ON 1u
#define FRAMES 2u
#define SETTLING_ticks 60u
// Long enough for a box that was sent away to go.
#define LAST_ticks 60u
// A frame in the input: service, length in units of 4, payload.
#define FRAME_HEAD 2u

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t length);

static uint8_t chip[FLASH_BYTES];
static _Alignas(8) uint8_t kept[KEPT_RAM_BYTES];
static jmp_buf ended;
static const uint8_t *input;
static size_t input_left;
static uint8_t mode;
static uint16_t sequence;
static uint32_t ticks;

void host_restart(uint32_t cause) {
  // A host may send it into the loader, or out of the desk state, and nothing else of this may restart it.
  if ((cause != BOOT_LOADER && cause != BOOT_RESTART) || (mode & KEY_ON) != 0) abort();
  longjmp(ended, 1);
}
void host_power_cut(void) { abort(); }
uint32_t host_cycles(void) { return 0; }

static void receiveFrame(void) {
  static Frame frame;
  static uint8_t line[LINE_MOST];
  size_t length = (size_t)input[1] % (PAYLOAD_MOST / 4u + 1u) * 4u;
  if (length > input_left - FRAME_HEAD) length = input_left - FRAME_HEAD;
  frame = (Frame){.service = input[0], .sequence = ++sequence, .length = (uint16_t)length};
  memcpy(frame.payload, input + FRAME_HEAD, length);
  size_t on_line = frame_line(&frame, line);
  for (size_t i = 0; i < on_line; i++) host_receive(line[i]);
  input += FRAME_HEAD + length;
  input_left -= FRAME_HEAD + length;
}

static void receiveBytes(void) {
  size_t piece = input_left < 64u ? input_left : 64u;
  for (size_t i = 0; i < piece; i++) host_receive(input[i]);
  input += piece;
  input_left -= piece;
}

void host_sleep(void) {
  if (ticks++ >= SETTLING_ticks) {
    if (input_left > FRAME_HEAD && (mode & FRAMES) != 0) receiveFrame();
    else if (input_left > 0 && (mode & FRAMES) == 0) receiveBytes();
    else if (ticks > SETTLING_ticks + LAST_ticks && host.received_in == host.received_out) longjmp(ended, 1);
  }
  host.sent_bytes = 0;
  host_tick();
  if (host.trigger_edges != 0) abort();
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t length) {
  static float before[PARAMETER_COUNT];
  if (length == 0) return 0;
  mode = bytes[0];
  input = bytes + 1;
  input_left = length - 1;
  ticks = 0;
  if (host.flash == NULL) memset(chip, 0xff, sizeof chip);
  host.flash = chip;
  host.kept = kept;
  host.rests = false;
  host.received_out = host.received_in;
  host.flash_operations = 0;
  host.inputs.reference = 2048;
  host.inputs.digital_inputs = INPUT_STOP_CHAIN | INPUT_BREAKAWAY | INPUT_TOP | ((mode & KEY_ON) != 0 ? INPUT_KEY : 0u);
  for (uint32_t i = 0; i < READINGS_PER_TICK; i++) host.inputs.readings[i] = 124;
  // What the input before left behind: an open line, and what a start would have cleared.
  host_receive(0);
  telemetry_request(0);
  parameters_forget();
  lockstep_end();
  if (setjmp(ended) == 0) {
    port_start();
    box_main();
  }
  if ((mode & KEY_ON) == 0) return 0;
  if (host.flash_operations != 0) abort();
  // The module at the pins began with what the chip holds: it must hold the same still, but for the trim, which may be live.
  memcpy(before, module_blocks[MODULE_AT_PINS].parameters, sizeof before);
  ticks = 0;
  input_left = 0;
  if (setjmp(ended) == 0) {
    port_start();
    box_main();
  }
  before[PARAMETER_TRIM_V] = module_blocks[MODULE_AT_PINS].parameters[PARAMETER_TRIM_V];
  if (memcmp(before, module_blocks[MODULE_AT_PINS].parameters, sizeof before) != 0) abort();
  return 0;
}
