#include "commands.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "host.h"

static void receiveHex(const char *text) {
  unsigned byte;
  for (; sscanf(text, "%2x", &byte) == 1; text += 2) {
    if (!host_receive((uint8_t)byte)) break;
  }
}

static void fail(const char *line) {
  fprintf(stderr, "unknown command: %s\n", line);
  exit(2);
}

uint32_t commands_line(const char *line) {
  char word[16];
  int used = 0;
  if (sscanf(line, "%15s%n", word, &used) != 1) return 0;
  const char *rest = line + used;
  long first = 0;
  long second = 0;
  int numbers = sscanf(rest, "%ld %ld", &first, &second);
  if (strcmp(word, "link") == 0) receiveHex(rest + strspn(rest, " "));
  else if (strcmp(word, "stack") == 0) host.stack_broken = true;
  else if (numbers < 1) fail(line);
  else if (strcmp(word, "digital_inputs") == 0) host.inputs.digital_inputs = (uint32_t)first;
  else if (strcmp(word, "reference") == 0) host.inputs.reference = (uint16_t)first;
  else if (strcmp(word, "relay") == 0) host.inputs.relay = first != 0;
  else if (strcmp(word, "usb_open") == 0) host.usb_open = first != 0;
  else if (strcmp(word, "restart") == 0) host_restart((uint32_t)first);
  else if (strcmp(word, "run") == 0) return (uint32_t)first;
  else if (strcmp(word, "readings") == 0) {
    for (uint32_t i = 0; i < READINGS_PER_TICK; i++) host.inputs.readings[i] = (uint16_t)first;
  } else if (strcmp(word, "steps") == 0) {
    host.inputs.x_steps = (int32_t)first;
    host.inputs.y_steps = (int32_t)second;
  } else fail(line);
  return 0;
}

void commands_report(bool with_link) {
  printf("{\"ticks\":%u,\"digital_outputs\":%u,\"trigger_edges\":%u,\"z_steps\":%d,\"lamp\":%d,\"led\":%d,\"rests\":%d,\"baud\":%u,", host.ticks,
         host.digital_outputs, host.trigger_edges, host.z_steps, host.lamp, host.led, host.rests, host.baud);
  printf("\"trial_outputs\":%u,\"trial_steps\":%d,", host.trial_outputs, host.trial_steps);
  printf("\"cause\":%u,\"flash_operations\":%u,\"link\":\"", host.boot_cause, host.flash_operations);
  for (size_t i = 0; with_link && i < host.sent_bytes; i++) printf("%02x", host.sent[i]);
  if (with_link) host.sent_bytes = 0;
  printf("\"}\n");
  fflush(stdout);
}
