#define _GNU_SOURCE
#include "socket.h"

#include <arpa/inet.h>
#include <errno.h>
#include <netinet/tcp.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <unistd.h>

#include "host.h"

#define KEPT_VARIABLE "STANDOFF_SOCKETS"

static int listening = -1, peer = -1;

static void fail(const char *what) {
  perror(what);
  exit(2);
}

void socket_start(uint16_t port) {
  const char *kept = getenv(KEPT_VARIABLE);
  if (kept != NULL && sscanf(kept, "%d %d", &listening, &peer) == 2) return;
  listening = socket(AF_INET, SOCK_STREAM | SOCK_NONBLOCK, 0);
  struct sockaddr_in here = {.sin_family = AF_INET, .sin_port = htons(port), .sin_addr = {htonl(INADDR_LOOPBACK)}};
  socklen_t length = sizeof here;
  if (listening < 0 || bind(listening, (struct sockaddr *)&here, length) != 0 || listen(listening, 1) != 0) fail("listen");
  if (getsockname(listening, (struct sockaddr *)&here, &length) != 0) fail("port");
  printf("tcp://127.0.0.1:%u\n", ntohs(here.sin_port));
  fflush(stdout);
}

struct pollfd socket_poll(void) { return (struct pollfd){.fd = peer >= 0 ? peer : listening, .events = POLLIN}; }

void socket_keep(void) {
  char text[32];
  snprintf(text, sizeof text, "%d %d", listening, peer);
  setenv(KEPT_VARIABLE, text, 1);
}

static void hangUp(void) {
  close(peer);
  peer = -1;
}

static void take(void) {
  uint8_t bytes[4096];
  uint32_t room = HOST_RECEIVE_BYTES - (host.received_in - host.received_out);
  ssize_t got = recv(peer, bytes, room < sizeof bytes ? room : sizeof bytes, MSG_DONTWAIT);
  if (got == 0 || (got < 0 && errno != EAGAIN)) hangUp();
  for (ssize_t i = 0; i < got; i++) host_receive(bytes[i]);
}

static void give(void) {
  ssize_t gone = send(peer, host.sent, host.sent_bytes, MSG_DONTWAIT | MSG_NOSIGNAL);
  if (gone < 0 && errno != EAGAIN) hangUp();
  if (gone <= 0) return;
  host.sent_bytes -= (size_t)gone;
  memmove(host.sent, host.sent + gone, host.sent_bytes);
}

void socket_exchange(void) {
  if (peer < 0) {
    peer = accept4(listening, NULL, NULL, SOCK_NONBLOCK);
    int at_once = 1;
    if (peer >= 0) setsockopt(peer, IPPROTO_TCP, TCP_NODELAY, &at_once, sizeof at_once);
  }
  if (peer >= 0) take();
  if (peer >= 0 && host.sent_bytes > 0) give();
  // A serial line does not wait for a listener.
  if (peer < 0) host.sent_bytes = 0;
}
