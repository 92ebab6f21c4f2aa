#include "uart.h"

#include "board.gen.h"
#include "registers.h"

#define RING 1024u // power of two; at 921600 bit/s the line fills it in 11 ms
#define INTERRUPT_PRIORITY 2u
// Interrupt when 16 of 32 bytes have come, and when the transmit FIFO is down to a quarter (4.2.8, UARTIFLS).
#define FIFO_LEVELS ((2u << 3) | 1u)

// Each index is written by one side only; they only count up and are reduced when used.
static uint8_t received[RING];
static volatile uint32_t received_in, received_out;
static uint8_t to_send[RING];
static volatile uint32_t to_send_in, to_send_out;
static uint32_t pending_baud;

static void setSpeed(uint32_t baud) {
  // Divisor in 64ths, rounded (4.2.7.1): clock / (16 × baud).
  uint32_t twice = (8u * CLOCK_HZ) / baud;
  uint32_t divisor_64 = (twice + 1u) / 2u;
  REGISTER(UART0_CR) = 0;
  REGISTER(UART0_IBRD) = divisor_64 >> 6;
  REGISTER(UART0_FBRD) = divisor_64 & 63u;
  REGISTER(UART0_LCR_H) = LCR_8_BITS_FIFOS; // also takes the divisor over
  REGISTER(UART0_CR) = CR_ON;
}

void uart_start(uint32_t baud) {
  resetBlocks(RESET_UART0);
  received_in = received_out = to_send_in = to_send_out = 0;
  pending_baud = 0;
  setSpeed(baud);
  REGISTER(UART0_IFLS) = FIFO_LEVELS;
  REGISTER(UART0_IMSC) = UART_RX | UART_RX_TIMEOUT;
  setPriority(IRQ_UART0, INTERRUPT_PRIORITY);
  REGISTER(NVIC_ISER) = BIT(IRQ_UART0);
}

// Fills the transmit FIFO; its interrupt is enabled only while the ring holds more.
static void pump(void) {
  uint32_t out = to_send_out;
  while (out != to_send_in && (REGISTER(UART0_FR) & FR_TX_FULL) == 0) REGISTER(UART0_DR) = to_send[out++ % RING];
  to_send_out = out;
  REGISTER(UART0_IMSC) = UART_RX | UART_RX_TIMEOUT | (out != to_send_in ? UART_TX : 0u);
}

void uart_interrupt(void) {
  REGISTER(UART0_ICR) = UART_RX | UART_RX_TIMEOUT | UART_TX;
  uint32_t in = received_in;
  while ((REGISTER(UART0_FR) & FR_RX_EMPTY) == 0) {
    uint8_t byte = (uint8_t)REGISTER(UART0_DR);
    // A full ring drops the byte; the frame's CRC detects it.
    if (in - received_out < RING) received[in++ % RING] = byte;
  }
  received_in = in;
  pump();
}

bool uart_quiet(void) { return to_send_in == to_send_out && (REGISTER(UART0_FR) & FR_BUSY) == 0; }

int uart_take(void) {
  if (pending_baud != 0 && uart_quiet()) {
    setSpeed(pending_baud);
    pending_baud = 0;
  }
  uint32_t out = received_out;
  if (out == received_in) return -1;
  uint8_t byte = received[out % RING];
  received_out = out + 1u;
  return byte;
}

bool uart_waiting(void) { return received_in != received_out; }

size_t uart_room(void) { return RING - (to_send_in - to_send_out); }

bool uart_send(const uint8_t *bytes, size_t length) {
  if (length > uart_room()) return false;
  uint32_t in = to_send_in;
  for (size_t i = 0; i < length; i++) to_send[in++ % RING] = bytes[i];
  to_send_in = in;
  REGISTER(NVIC_ICER) = BIT(IRQ_UART0);
  pump();
  REGISTER(NVIC_ISER) = BIT(IRQ_UART0);
  return true;
}

bool uart_speed(uint32_t baud) {
  if (baud < BAUD_LEAST || baud > BAUD_MOST) return false;
  pending_baud = baud;
  return true;
}
