#include "usb-control.h"

#include <stddef.h>

#include "flash.h"
#include "registers.h"
#include "usb-end.h"
#include "wire.gen.h"

// Requests: type and number in one (USB 2.0, 9.4; PSTN 1.2, 6.3).
#define REQUEST(type, number) ((uint32_t)(type) << 8 | (number))
#define CLEAR_FEATURE_OF_ENDPOINT REQUEST(0x02, 1)
#define SET_ADDRESS REQUEST(0x00, 5)
#define GET_DESCRIPTOR REQUEST(0x80, 6)
#define GET_CONFIGURATION REQUEST(0x80, 8)
#define SET_CONFIGURATION REQUEST(0x00, 9)
#define GET_INTERFACE REQUEST(0x81, 10)
#define SET_INTERFACE REQUEST(0x01, 11)
#define GET_STATUS(of) REQUEST(0x80 | (of), 0)
#define SET_LINE_CODING REQUEST(0x21, 0x20)
#define GET_LINE_CODING REQUEST(0xa1, 0x21)
#define SET_CONTROL_LINE_STATE REQUEST(0x21, 0x22)
#define SEND_BREAK REQUEST(0x21, 0x23)
#define TO_PC 0x8000u
#define DTR 1u

#define DEVICE 1u
#define CONFIGURATION 2u
#define STRING 3u
#define LANGUAGES 0u
#define MANUFACTURER 1u
#define PRODUCT 2u
#define SERIAL 3u
#define LINE_CODING_BYTES 7u

#define LOW(word) ((word) & 255u)
#define HIGH(word) ((word) >> 8)

static const uint8_t DEVICE_BYTES[18] = {
    // USB 2.0; functions are grouped (class EFh, 2, 1); 64 bytes a packet; release 1.00; one configuration
    18, DEVICE, 0x00, 0x02, 0xef, 2, 1, USB_PACKET, LOW(USB_VENDOR), HIGH(USB_VENDOR), LOW(USB_PRODUCT), HIGH(USB_PRODUCT),
    0x00, 0x01, MANUFACTURER, PRODUCT, SERIAL, 1,
};
#define CONFIGURATION_BYTES 75u
static const uint8_t CONFIGURATION_ALL[CONFIGURATION_BYTES] = {
    9, CONFIGURATION, CONFIGURATION_BYTES, 0, 2, 1, 0, 0x80, 50, // two interfaces, power from the bus, 100 mA
    8, 11, 0, 2, 2, 2, 0, 0,                                     // interfaces 0 and 1 are one port
    9, 4, 0, 0, 1, 2, 2, 0, 0,                                   // 0: control, abstract control model
    5, 0x24, 0, 0x20, 0x01,                                      // class CDC 1.20
    5, 0x24, 1, 0, 1,                                            // no calls
    4, 0x24, 2, 2,                                               // line coding and line state
    5, 0x24, 6, 0, 1,                                            // union of 0 and 1
    7, 5, 0x80 | USB_NOTICES, 3, 8, 0, 16,                       // interrupt, every 16 ms
    9, 4, 1, 0, 2, 10, 0, 0, 0,                                  // 1: data
    7, 5, USB_FRAMES, 2, USB_PACKET, 0, 0,                       // bulk from the PC
    7, 5, 0x80 | USB_FRAMES, 2, USB_PACKET, 0, 0,                // bulk to the PC
};
static const char MANUFACTURER_TEXT[] = "Standoff";
static const char PRODUCT_TEXT[] = "Standoff box";

UsbControl usb_control;
static char serial_text[] = "SNDF-0123456789ABCDEF";
static uint8_t answer[USB_PACKET]; // of what is put together when it is asked for
static uint8_t line_coding[LINE_CODING_BYTES] = {0x00, 0xc2, 0x01, 0x00, 0, 0, 8}; // 115200 bit/s, 8N1; it changes nothing

static UsbEnd to_pc = {USB_BUFFER_IN(0), USB_MEMORY + USB_EP0_BYTES, false};
static UsbEnd from_pc = {USB_BUFFER_OUT(0), USB_MEMORY + USB_EP0_BYTES, false};

static struct {
  const uint8_t *bytes; // still to be sent
  uint32_t left;
  bool sending;         // a data stage to the PC
  bool ends_empty;      // an empty packet tells the PC that there is no more
  bool receiving;       // a data stage from the PC
  bool coding;          // what comes is a line coding
  bool refused;         // it is taken, then refused
  bool restarting;      // accepted once the pair has begun again
  uint32_t address;     // taken on once the status stage is over; 0: none
} transfer;

void usb_control_start(void) {
  static const char DIGITS[] = "0123456789ABCDEF";
  uint8_t number[FLASH_NUMBER_BYTES];
  flash_number(number);
  char *to = serial_text + sizeof serial_text - 1u - 2u * sizeof number;
  for (uint32_t n = 0; n < sizeof number; n++) {
    *to++ = DIGITS[number[n] >> 4];
    *to++ = DIGITS[number[n] & 15u];
  }
}

static void begin(void) {
  usb_withdraw(&to_pc, true);
  usb_withdraw(&from_pc, true);
  __builtin_memset(&transfer, 0, sizeof transfer);
}

void usb_control_bus_reset(void) {
  begin();
  REGISTER(USB_ADDRESS) = 0;
  usb_control = (UsbControl){.restart_to_pc = true, .restart_from_pc = true};
}

static void sendPacket(void) {
  uint32_t length = transfer.left < USB_PACKET ? transfer.left : USB_PACKET;
  for (uint32_t n = 0; n < length; n++) usb_put(&to_pc, n, transfer.bytes[n]);
  if (length < USB_PACKET) transfer.ends_empty = false;
  transfer.bytes += length;
  transfer.left -= length;
  usb_give(&to_pc, BUFFER_FULL, length);
}

// The status stage of a request without data to the PC, always DATA1.
static void accept(void) {
  to_pc.odd = true;
  usb_give(&to_pc, BUFFER_FULL, 0);
}

static void refuse(void) {
  REGISTER(USB_STALL_ARM) = 1;
  REGISTER(to_pc.control) = BUFFER_STALL;
}

// At most `most` bytes. The PC may end it at any packet with its status, an empty packet (it shares endpoint 0's one buffer
// but has no bytes): so it does when its acknowledgement of the last one was lost.
static void reply(const uint8_t *bytes, uint32_t length, uint32_t most) {
  usb_give(&from_pc, 0, USB_PACKET);
  transfer.sending = true;
  transfer.bytes = bytes;
  transfer.left = length < most ? length : most;
  transfer.ends_empty = length < most && length % USB_PACKET == 0;
  sendPacket();
}

static void replyText(const char *text, uint32_t most) {
  uint32_t length = 2;
  for (; *text != 0 && length < sizeof answer; text++) {
    answer[length++] = (uint8_t)*text;
    answer[length++] = 0;
  }
  answer[0] = (uint8_t)length;
  answer[1] = STRING;
  reply(answer, length, most);
}

static void describe(uint32_t value, uint32_t most) {
  static const uint8_t ENGLISH[4] = {4, STRING, 0x09, 0x04};
  switch (value) {
    case DEVICE << 8:
      return reply(DEVICE_BYTES, sizeof DEVICE_BYTES, most);
    case CONFIGURATION << 8:
      return reply(CONFIGURATION_ALL, sizeof CONFIGURATION_ALL, most);
    case STRING << 8 | LANGUAGES:
      return reply(ENGLISH, sizeof ENGLISH, most);
    case STRING << 8 | MANUFACTURER:
      return replyText(MANUFACTURER_TEXT, most);
    case STRING << 8 | PRODUCT:
      return replyText(PRODUCT_TEXT, most);
    case STRING << 8 | SERIAL:
      return replyText(serial_text, most);
    default:
      return refuse();
  }
}

static void configure(uint32_t value) {
  if (value > 1u) return refuse();
  usb_control = (UsbControl){.configured = value == 1u, .restart_to_pc = true, .restart_from_pc = true};
  transfer.restarting = true;
}

// Nothing ever halts here; the toggle begins again all the same (USB 2.0, 9.4.5).
static void restart(uint32_t endpoint) {
  usb_control.restart_to_pc |= endpoint == (0x80u | USB_FRAMES);
  usb_control.restart_from_pc |= endpoint == USB_FRAMES;
  transfer.restarting = true;
}

static void setLines(uint32_t value) {
  bool open = (value & DTR) != 0;
  if (open && !usb_control.open) usb_control.opened = true;
  usb_control.open = open;
  accept();
}

static void replyByte(uint8_t byte, uint32_t count, uint32_t most) {
  answer[0] = byte;
  answer[1] = 0;
  reply(answer, count, most);
}

static void receive(bool coding) {
  transfer.receiving = true;
  transfer.coding = coding;
  transfer.refused = !coding;
  usb_give(&from_pc, 0, USB_PACKET);
}

void usb_control_setup(void) {
  uint32_t first = REGISTER(USB_MEMORY), second = REGISTER(USB_MEMORY + 4u);
  uint32_t type = first & 255u, number = (first >> 8) & 255u, value = first >> 16, most = second >> 16;
  begin();
  switch (REQUEST(type, number)) {
    case GET_DESCRIPTOR:
      return describe(value, most);
    case SET_ADDRESS:
      transfer.address = value & 127u;
      return accept();
    case SET_CONFIGURATION:
      return configure(value);
    case GET_CONFIGURATION:
      return replyByte(usb_control.configured ? 1u : 0u, 1, most);
    case GET_STATUS(0):
    case GET_STATUS(1):
    case GET_STATUS(2):
      return replyByte(0, 2, most);
    case GET_INTERFACE:
      return replyByte(0, 1, most);
    case SET_INTERFACE:
      return value == 0 ? accept() : refuse();
    case CLEAR_FEATURE_OF_ENDPOINT:
      return restart(second & 0xffffu);
    case SET_LINE_CODING:
      return receive(true);
    case GET_LINE_CODING:
      return reply(line_coding, sizeof line_coding, most);
    case SET_CONTROL_LINE_STATE:
      return setLines(value);
    case SEND_BREAK:
      return accept();
    default:
      return (type & (TO_PC >> 8)) == 0 && most != 0 ? receive(false) : refuse();
  }
}

void usb_control_sent(void) {
  if (transfer.address != 0) REGISTER(USB_ADDRESS) = transfer.address;
  transfer.address = 0;
  if (transfer.sending && (transfer.left != 0 || transfer.ends_empty)) sendPacket();
}

void usb_control_received(void) {
  if (transfer.sending) return begin();
  if (!transfer.receiving) return;
  transfer.receiving = false;
  for (uint32_t n = 0; transfer.coding && n < sizeof line_coding; n++) line_coding[n] = usb_get(&from_pc, n);
  if (transfer.refused) refuse();
  else accept();
}

void usb_control_restarted(void) {
  if (transfer.restarting) accept();
  transfer.restarting = false;
}
