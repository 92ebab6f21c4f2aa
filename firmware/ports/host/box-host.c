// The box as a program: box-host FOLDER [--tcp PORT] [--speed N]
//
// FOLDER keeps the flash chip and the memory that outlives a restart. Without --tcp the box is stepped: commands come on
// stdin (commands.h), the link is one of them. With it the link is a TCP connection, ticks come by the clock, N times as
// fast as real time; the port that is listened at is printed (PORT 0: any). A restart starts the program again.
#define _GNU_SOURCE
#include <poll.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

#include "commands.h"
#include "files.h"
#include "host.h"
#include "socket.h"

#define CAUSE_VARIABLE "STANDOFF_BOOT_CAUSE"
#define MS_ns 1000000

static char **arguments;
static bool by_clock;
static int64_t tick_ns = MS_ns;
static int64_t next_ns;
static uint32_t ticks_left;
static bool report_due;

static int64_t now_ns(void) {
  struct timespec now;
  clock_gettime(CLOCK_MONOTONIC, &now);
  return (int64_t)now.tv_sec * 1000 * MS_ns + now.tv_nsec;
}

uint32_t host_cycles(void) { return (uint32_t)(now_ns() / (1000 / (CLOCK_HZ / 1000000))); }

void host_restart(uint32_t cause) {
  if (!by_clock) commands_report(true);
  char text[16];
  snprintf(text, sizeof text, "%u", cause);
  setenv(CAUSE_VARIABLE, text, 1);
  socket_keep();
  execv("/proc/self/exe", arguments);
  perror("execv");
  exit(2);
}

// The program itself never lets the power fail.
void host_power_cut(void) { abort(); }

// One line of stdin, a byte at a time: what is behind it belongs to the program after a restart.
static void command(void) {
  static char line[4 * HOST_RECEIVE_BYTES];
  size_t length = 0;
  char byte;
  while (length < sizeof line - 1) {
    if (read(STDIN_FILENO, &byte, 1) != 1) exit(0);
    if (byte == '\n') break;
    line[length++] = byte;
  }
  line[length] = 0;
  ticks_left += commands_line(line);
  report_due = ticks_left > 0;
}

// Stepped: a tick, or the report of those that were asked for and the next command.
static void step(void) {
  if (ticks_left > 0) {
    ticks_left--;
    host_tick();
    return;
  }
  if (report_due) commands_report(true);
  report_due = false;
  while (ticks_left == 0) command();
}

// By the clock: whatever comes first of the next tick, bytes of the link and a command.
static void wait(void) {
  int64_t left_ns = next_ns - now_ns();
  if (left_ns <= 0) {
    host_tick();
    // A program that was stopped for long does not catch up.
    next_ns = left_ns < -100 * tick_ns ? now_ns() + tick_ns : next_ns + tick_ns;
    socket_exchange();
    return;
  }
  static bool commands = true;
  struct pollfd waits[2] = {{.fd = commands ? STDIN_FILENO : -1, .events = POLLIN}, socket_poll()};
  struct timespec time = {.tv_nsec = (long)(left_ns < 1000 * (int64_t)MS_ns ? left_ns : 999 * (int64_t)MS_ns)};
  if (ppoll(waits, 2, &time, NULL) > 0 && waits[0].revents != 0) {
    if ((waits[0].revents & POLLIN) != 0) command();
    else commands = false;
  }
  socket_exchange();
}

void host_sleep(void) {
  if (by_clock) wait();
  else step();
}

int main(int count, char **given) {
  arguments = given;
  const char *tcp = NULL;
  for (int i = 2; i + 1 < count; i += 2) {
    if (strcmp(given[i], "--tcp") == 0) tcp = given[i + 1];
    if (strcmp(given[i], "--speed") == 0) tick_ns = (int64_t)(MS_ns / atof(given[i + 1]));
  }
  if (count < 2 || tick_ns <= 0) {
    fprintf(stderr, "box-host FOLDER [--tcp PORT] [--speed N]\n");
    return 2;
  }
  const char *cause = getenv(CAUSE_VARIABLE);
  host.boot_cause = cause != NULL ? (uint32_t)atoi(cause) : BOOT_POWER_UP;
  host.flash = files_map(given[1], "flash", FLASH_BYTES, 0xff);
  host.kept = files_map(given[1], "kept", KEPT_RAM_BYTES, 0);
  host.inputs.reference = 2048;
  for (uint32_t i = 0; i < READINGS_PER_TICK; i++) host.inputs.readings[i] = 124;
  by_clock = tcp != NULL;
  if (by_clock) socket_start((uint16_t)atoi(tcp));
  next_ns = now_ns() + tick_ns;
  port_start();
  box_main();
}
