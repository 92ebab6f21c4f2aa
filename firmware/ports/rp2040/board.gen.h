// Generated from the rows in firmware/ports/rp2040 by `npm run generate`. Do not edit.
#ifndef STANDOFF_BOARD_GEN_H
#define STANDOFF_BOARD_GEN_H
#include "wire.gen.h"

#define BOARD_KIND 8256u // RP2040 with 2 MiB of serial NOR flash
#define FLASH_BASE 0x10000000u // where the processor sees the flash chip
#define FLASH_BYTES 0x200000u // size of the flash chip
#define SECTOR_BYTES 4096u // smallest erase
#define BLOCK_BYTES 0x10000u // largest erase
#define PAGE_BYTES 256u // largest program
#define BOOT_BLOCK_BYTES 256u // second-stage boot block with its own CRC
#define LOADER_AT 0u // boot block, then the loader
#define LOADER_BYTES 16384u // room for both
#define KEPT_AT 16384u // parameters: three copies, a sector each
#define SLOT_0_AT 0x10000u // first image slot
#define SLOT_1_AT 0x30000u // second image slot
#define SLOT_BYTES 0x11000u // head page and body, in whole sectors
#define BODY_MOST 0x10000u // longest body of an image: 64 KiB
#define BODY_RAM_AT 0x20000000u // the loader copies the body here; box code runs from memory, not from flash
#define BOX_RAM_AT 0x20010000u // variables and stack of the box
#define BOX_RAM_BYTES 32768u // at most 32 KiB
#define KEPT_RAM_AT 0x20018000u // event ring and causes; kept through a reset, cleared after a power cut
#define KEPT_RAM_BYTES 16384u
#define LOADER_RAM_AT 0x20020000u // variables, code in memory and stack of the loader
#define LOADER_RAM_BYTES 32768u
#define RECEIVE_RAM_AT 0x20028000u // the image as it is received
#define CLOCK_HZ 0x7735940u // processor clock
#define READING_Hz 10000u // converter readings a second
#define Z_STEPS_MOST 81u // Z steps that the pulses of a millisecond leave room for
#define WATCHDOG_ms 10u // without a tick for this long the box starts again
#define BAUD_LEAST 9600u // slowest speed of the line, bit/s
#define BAUD_MOST 0x1e8480u // fastest speed of the line, bit/s
#define LINK_WAYS 2u // ways to a host: 0 the serial line, 1 USB

// Pins: number, and whether the word is true at the high level
#define PIN_LINK_TX 0u // UART0 to the host’s isolated adapter
#define PIN_LINK_RX 1u // UART0 from the host
#define PIN_TRIGGER 2u // pulse train into the charge pump
#define PIN_TRIGGER_HIGH 1u
#define PIN_Z_STEP 3u // one rising edge a step
#define PIN_Z_STEP_HIGH 1u
#define PIN_Z_DIRECTION 4u // high: up
#define PIN_Z_DIRECTION_HIGH 1u
#define PIN_X_STEP 5u // counted by PWM slice 2, input B
#define PIN_X_STEP_HIGH 1u
#define PIN_X_DIRECTION 6u // high: positive
#define PIN_X_DIRECTION_HIGH 1u
#define PIN_Y_STEP 7u // counted by PWM slice 3, input B
#define PIN_Y_STEP_HIGH 1u
#define PIN_Y_DIRECTION 8u // high: positive
#define PIN_Y_DIRECTION_HIGH 1u
#define PIN_Z_OWNED 9u // multiplexer: high gives Z to the box
#define PIN_Z_OWNED_HIGH 1u
#define PIN_MOTION_PERMIT 10u // low without power, in reset and when the wire breaks
#define PIN_MOTION_PERMIT_HIGH 1u
#define PIN_LATCHED_STOP 11u // high sets the latched stop
#define PIN_LATCHED_STOP_HIGH 1u
#define PIN_LAMP 12u // lit: armed; blinking: fault; two flashes and a pause: desk state
#define PIN_LAMP_HIGH 1u
#define PIN_KEY 13u // arm key on
#define PIN_KEY_HIGH 0u
#define PIN_REQUEST 14u // torch request of the motion controller
#define PIN_REQUEST_HIGH 0u
#define PIN_STOP_CHAIN 15u // stop chain intact
#define PIN_STOP_CHAIN_HIGH 0u
#define PIN_TOUCH 16u // touch-off switch closed
#define PIN_TOUCH_HIGH 0u
#define PIN_BREAKAWAY 17u // torch seated in its holder
#define PIN_BREAKAWAY_HIGH 0u
#define PIN_TOP 18u // Z at the top switch
#define PIN_TOP_HIGH 0u
#define PIN_HOLD 19u // external hold
#define PIN_HOLD_HIGH 0u
#define PIN_SUPPLY_CONTACT 20u // the supply says that the arc has transferred
#define PIN_SUPPLY_CONTACT_HIGH 0u
#define PIN_RESET 21u // reset button
#define PIN_RESET_HIGH 0u
#define PIN_RELAY 22u // readback: the firing contact is closed
#define PIN_RELAY_HIGH 0u
#define PIN_LED 25u // sign of life, on boards that have their own LED here: each tick counts for it
#define PIN_LED_HIGH 1u
#define PIN_ARC_VOLTAGE 26u // converter channel 0
#define PIN_REFERENCE 27u // converter channel 1: half of the converter’s reference, the 3.3 V rail

// Inputs at neighbouring pins, in the order of their bits: X(pin, active high, pull up, bit)
#define INPUT_PINS(X) \
  X(13, 0, 1, INPUT_KEY) \
  X(14, 0, 1, INPUT_REQUEST) \
  X(15, 0, 1, INPUT_STOP_CHAIN) \
  X(16, 0, 1, INPUT_TOUCH) \
  X(17, 0, 1, INPUT_BREAKAWAY) \
  X(18, 0, 1, INPUT_TOP) \
  X(19, 0, 1, INPUT_HOLD) \
  X(20, 0, 1, INPUT_SUPPLY_CONTACT) \
  X(21, 0, 1, INPUT_RESET) \

#endif
