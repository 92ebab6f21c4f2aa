// Generated from the rows in firmware/wire by `npm run generate`. Do not edit.
#ifndef STANDOFF_WIRE_GEN_H
#define STANDOFF_WIRE_GEN_H
#include <stdint.h>

// Inputs and outputs of the control module
#define READINGS_PER_TICK 10u // raw converter counts, oldest first, u16
#define REFERENCE_COUNTS 2048u // half of the converter’s range
#define TOUCH_OPEN_TICKS 20u // after which a touch-off switch has opened
#define STROKE_UM 1500u // of the proof, at most, above pierce height
#define STROKES_MOST 6u // that a proof adds up
#define PROOF_BEGINS_MS 300u // after strike_ms: until then a proof may begin again
#define INPUT_DIGITAL 20u // INPUT_*
#define INPUT_READINGS 0u // the tick’s ten converter readings, oldest first; the last is recorded
#define INPUT_X_STEPS 24u // X steps since the last tick
#define INPUT_Y_STEPS 28u // Y steps since the last tick
#define INPUT_REFERENCE 32u // the board’s own reference, raw
#define INPUT_CAPACITY 36u // Z steps that the board can put out in a tick; 0: not told
#define INPUT_BYTES 48u
#define INPUT_KEY 1u // arm key on
#define INPUT_REQUEST 2u // torch request
#define INPUT_STOP_CHAIN 4u // stop chain intact
#define INPUT_TOUCH 8u // touch-off switch closed
#define INPUT_BREAKAWAY 16u // torch seated in its holder
#define INPUT_TOP 32u // Z at the top switch
#define INPUT_HOLD 64u // external hold
#define INPUT_SUPPLY_CONTACT 128u // the supply says that the arc has transferred
#define INPUT_RESET 256u // reset button
#define INPUT_OVERRUN 512u // the board: the last tick was late
#define INPUT_RELAY 1024u // readback: the firing contact is closed
#define INPUT_REST 2048u // the board: outputs are to rest
#define OUTPUT_Z_STEPS 0u // Z steps for the next tick, up is positive
#define OUTPUT_DIGITAL 4u // OUTPUT_*
#define OUTPUT_MODE 8u // MODE_*
#define OUTPUT_STAGE 12u // STAGE_*
#define OUTPUT_HOLD 16u // HOLD_*
#define OUTPUT_FAULT 20u // FAULT_*
#define OUTPUT_REFUSAL 24u // REFUSAL_*
#define OUTPUT_FLAGS 68u // FLAG_*
#define OUTPUT_Z 28u // Z since the box took it over
#define OUTPUT_FAULT_READING_V 32u // the reading that caused the fault
#define OUTPUT_MEASURED_V 36u // arc voltage as the box sees it, mean over half a mains period
#define OUTPUT_TARGET_V 40u // target with trim and feed effect
#define OUTPUT_MEASURED_ERROR_MM 44u // standoff error as the regulator sees it, high is positive
#define OUTPUT_Z_VELOCITY_MM_S 48u // commanded Z velocity
#define OUTPUT_MEASURED_FEED_MM_S 52u // feed as the box sees it, filtered
#define OUTPUT_SLOPE_X 56u // estimated slope of the sheet along X
#define OUTPUT_SLOPE_Y 60u // estimated slope of the sheet along Y
#define OUTPUT_FEED_EFFECT_V 64u // feed effect as learned
#define OUTPUT_FOUND_TARGET_V 76u // arc voltage at cut height and target feed, as found; as told without
#define OUTPUT_FOUND_DEVIATION_MM 80u // standard deviation of the target in standoff; 0 while it is told
#define OUTPUT_TICK_V 72u // mean of the ten readings of this tick
#define OUTPUT_PROOF_SLOPE_V_PER_MM 84u // what the voltage answered to the strokes of the last strike; 0: not yet known
#define OUTPUT_BYTES 96u
#define OUTPUT_TRIGGER 1u // torch trigger
#define OUTPUT_PERMIT 2u // motion permit
#define OUTPUT_LATCHED_STOP 4u // 1: the latched stop is set
#define OUTPUT_Z_OWNED 8u // the box owns Z
#define FLAG_ARC_OK 1u // the arc counts as burning
#define FLAG_HOMED 2u // Z has been at the top switch since power-up
#define FLAG_VELOCITY_LIMITED 4u // Z would go faster
#define FLAG_ACCELERATION_LIMITED 8u // Z would change its speed faster
#define FLAG_TARGET_KEPT 16u // what was found is outside its bounds: the bound is used
#define FLAG_SPIKE 32u // a reading was rejected in this tick
#define FLAG_NEAR_ZERO 64u // the arc voltage is near zero
#define FLAG_CONVERTER_DEAD 128u // the reference is off: the readings count as the top of the range
#define SET_DONE 0u // taken
#define SET_UNKNOWN 1u // no such id
#define SET_RANGE 2u // outside its range, or NaN
#define SET_NOT_NOW 3u // only with the key off, at rest, voltage near zero

#define MODE_REST 0u // trigger off, Z belongs to the motion controller
#define MODE_SEEK 1u // touching off to find the sheet
#define MODE_LIFT 2u // rising to pierce height
#define MODE_STRIKE 3u // trigger on, waiting for the arc
#define MODE_PIERCE 4u // piercing at pierce height
#define MODE_LOWER 5u // lowering to cut height
#define MODE_SETTLE 6u // moving, before the regulator takes over
#define MODE_FOLLOW 7u // the regulator keeps the standoff
#define MODE_HOLD 8u // the regulator has let go for a named cause
#define MODE_RETRACT 9u // trigger off, waiting for the voltage to fall, then rising
#define MODE_FAULT 10u // stopped; needs a reset with the request off
#define FAULT_NONE 0u
#define FAULT_STOP_CHAIN 1u
#define FAULT_BREAKAWAY 2u
#define FAULT_TOUCH_CLOSED 3u
#define FAULT_TOUCH_MISSING 4u
#define FAULT_TOUCH_STUCK 5u
#define FAULT_NO_ARC 6u
#define FAULT_ARC_LOST 7u
#define FAULT_NO_VOLTAGE 8u
#define FAULT_REVERSED 9u
#define FAULT_READING_STUCK 10u
#define FAULT_READING_SATURATED 11u
#define FAULT_VOLTAGE_AT_REST 12u
#define FAULT_CROSSING_LONG 13u
#define FAULT_ARC_LONG 14u
#define FAULT_TRAVEL 15u
#define FAULT_WRONG_WAY 16u
#define FAULT_STRAY_MOTION 17u
#define FAULT_OVERRUN 18u
#define FAULT_NOT_FINITE 19u
#define FAULT_STANDSTILL 20u
#define FAULT_RELAY_CLOSED 21u
#define FAULT_CONTACT 22u
#define FAULT_EARLY_MOTION 23u
#define FAULT_NO_RESPONSE 24u
#define REFUSAL_NONE 0u // a torch request would be taken
#define REFUSAL_KEY 1u // the arm key is off, or must be turned off and on: it was on at power-up or at a fault, or its contact opened for a moment
#define REFUSAL_NOT_HOMED 2u // home Z to the top switch first
#define REFUSAL_STOP_CHAIN 3u // the stop chain is open
#define REFUSAL_FAULT 4u // a fault is latched: clear its cause, take the request off, press reset
#define REFUSAL_VOLTAGE 5u // there is voltage at the tap although nothing should be firing: do not touch the torch
#define REFUSAL_REQUEST_HELD 6u // the torch request was on already: take it off first
#define REFUSAL_PARAMETERS 7u // the parameters contradict each other
#define REFUSAL_BREAKAWAY 8u // the torch is not seated in its holder
#define REFUSAL_RESTING 9u // the outputs are to rest: a host holds the box in lockstep, or the image was gone back to and its parameters must be set again
#define PARAMETER_COUNT 67u
#define PARAMETER_READING_GAIN_MV 0u
#define PARAMETER_READING_ZERO_COUNTS 1u
#define PARAMETER_MAINS_HZ 2u
#define PARAMETER_SPIKE_V 3u
#define PARAMETER_SPIKE_MS 4u
#define PARAMETER_REST_V 5u
#define PARAMETER_STUCK_MS 6u
#define PARAMETER_ARC_LOW_V 7u
#define PARAMETER_ARC_HIGH_V 8u
#define PARAMETER_TRANSFER_V 9u
#define PARAMETER_ARC_ON_MS 10u
#define PARAMETER_ARC_OFF_MS 11u
#define PARAMETER_SUPPLY_CONTACT 12u
#define PARAMETER_SEEK_FAST_MM_S 13u
#define PARAMETER_SEEK_SLOW_MM_S 14u
#define PARAMETER_SEEK_TRAVEL_MM 15u
#define PARAMETER_TOUCH_OFFSET_MM 16u
#define PARAMETER_PIERCE_HEIGHT_MM 17u
#define PARAMETER_PIERCE_MS 18u
#define PARAMETER_CUT_HEIGHT_MM 19u
#define PARAMETER_STRIKE_MS 20u
#define PARAMETER_STRIKE_RETRIES 21u
#define PARAMETER_FALL_MS 22u
#define PARAMETER_SETTLE_MS 23u
#define PARAMETER_TARGET_LEARNED 24u
#define PARAMETER_TARGET_V 25u
#define PARAMETER_TARGET_FEED_MM_S 26u
#define PARAMETER_LEARN_MS 27u
#define PARAMETER_LEARN_BAND_V 28u
#define PARAMETER_LEARN_CHANGE_V 29u
#define PARAMETER_TRIM_V 30u
#define PARAMETER_ARC_SLOPE_V_PER_MM 31u
#define PARAMETER_GAIN_P_PER_S 32u
#define PARAMETER_GAIN_I_PER_S2 33u
#define PARAMETER_GAIN_D 34u
#define PARAMETER_TRACKING_MS 35u
#define PARAMETER_SMOOTHING_MS 36u
#define PARAMETER_REVERSAL_UM 37u
#define PARAMETER_X_STEPS_PER_MM 38u
#define PARAMETER_Y_STEPS_PER_MM 39u
#define PARAMETER_Z_STEPS_PER_MM 40u
#define PARAMETER_Z_VELOCITY_MM_S 41u
#define PARAMETER_Z_ACCELERATION_MM_S2 42u
#define PARAMETER_FOLLOW_DOWN_MM_S 43u
#define PARAMETER_TRAVEL_MM 44u
#define PARAMETER_FEED_FILTER_MS 45u
#define PARAMETER_HOLD_CARRIED 46u
#define PARAMETER_SLOPE_PATH_MM 47u
#define PARAMETER_SLOPE_LIMIT 48u
#define PARAMETER_CORNER_FRACTION 49u
#define PARAMETER_CORNER_PATH_MM 50u
#define PARAMETER_FEED_EFFECT_V 51u
#define PARAMETER_FEED_EFFECT_MS 52u
#define PARAMETER_FEED_EFFECT_LEARNED 53u
#define PARAMETER_CROSSING_RISE_MM_PER_S 54u
#define PARAMETER_CROSSING_WINDOW_MS 55u
#define PARAMETER_CROSSING_BAND_MM 56u
#define PARAMETER_CROSSING_MS 57u
#define PARAMETER_CROSSING_PATH_MM 58u
#define PARAMETER_UP_BAND_MM 59u
#define PARAMETER_FLOOR_ALLOWANCE_MM 60u
#define PARAMETER_ARC_LONGEST_S 61u
#define PARAMETER_DIVE_MM 62u
#define PARAMETER_WRONG_WAY_MM 63u
#define PARAMETER_STRAY_MS 64u
#define PARAMETER_STANDSTILL_S 65u
#define PARAMETER_EXTERNAL_PATH_MM 66u

// The link
#define ANSWER 128u
#define PAYLOAD_MOST 320u
#define FRAME_EXTRA 8u
#define BAUD_AT_START 0x1c200u
#define LOCKSTEP_KEPT 16u
#define SERVICE_IDENTITY 1u // who answers, what it runs and why it started
#define SERVICE_PING 2u // sign of life; also keeps an agreed speed of the line
#define SERVICE_LINE_SPEED 3u // change the speed after this answer
#define SERVICE_PARAMETERS_READ 4u // parameters in use, by id
#define SERVICE_PARAMETERS_STAGE 5u // stage values; nothing changes yet
#define SERVICE_PARAMETERS_CHECK 6u // would the module accept the staged values
#define SERVICE_PARAMETERS_COMMIT 7u // put them into use and store them in flash
#define SERVICE_TELEMETRY 8u // start or stop the stream
#define SERVICE_TELEMETRY_ROW 9u // one tick; sent by itself
#define SERVICE_EVENTS_READ 10u // what happened, also before the last reset
#define SERVICE_HISTORY_READ 11u // the last seconds, sampled; stops at a fault
#define SERVICE_READINGS 12u // mean and spread of the raw readings of the last second
#define SERVICE_LOCKSTEP_BEGIN 13u // outputs rest, the second copy of the module is the host’s
#define SERVICE_LOCKSTEP_TICKS 14u // inputs of some ticks, as many as their outputs fill an answer; these outputs; the last LOCKSTEP_KEPT outputs are given again to who asks again
#define SERVICE_LOCKSTEP_END 15u // back to the pins, from power-up
#define SERVICE_LOCKSTEP_PARAMETER 16u // set_parameter of the module in lockstep
#define SERVICE_TRIM 17u // trim_V alone, also with the key on; nothing is written to flash
#define SERVICE_DESK_BEGIN 18u // the desk state: outputs rest by the port until a restart
#define SERVICE_STATE 19u // where the box stands: mode, fault, inputs, outputs, desk state
#define SERVICE_LOADER_ENTER 20u // reset into the loader
#define SERVICE_UPDATE_BEGIN 21u // announce an image; says where it goes on
#define SERVICE_UPDATE_WRITE 22u // bytes of the image at their place
#define SERVICE_UPDATE_FINISH 23u // verify, then mark the slot as the newest
#define SERVICE_RESTART 24u // start the newest valid image; the box does so from the desk state alone
#define SERVICE_SLOT 25u // what a slot holds; the SHA-256 of its body is computed for it, within 0.2 s. The loader: `busy` while the chip is at work
#define SERVICE_TRIAL_OUTPUTS 26u // raise outputs of a box that is not wired, but never the trigger; they rest half a second after the last request
#define SERVICE_TRIAL_FAILURE 27u // fail on purpose, and start again
#define STATUS_DONE 0u // done
#define STATUS_UNKNOWN 1u // the box does not know this service
#define STATUS_LENGTH 2u // the request has the wrong length
#define STATUS_RANGE 3u // a value is outside its range
#define STATUS_ID 4u // there is no such parameter
#define STATUS_CONTRADICTION 5u // the parameters contradict each other
#define STATUS_KEY 6u // the arm key is on
#define STATUS_BUSY 7u // the box is not at rest
#define STATUS_VOLTAGE 8u // there is voltage at the tap
#define STATUS_LOCKSTEP 9u // the box is in lockstep with a host
#define STATUS_NOT_BEGUN 10u // nothing has been begun
#define STATUS_BOARD 11u // the image is for another board
#define STATUS_FORMAT 12u // the image has a format that this loader does not know
#define STATUS_TOO_LONG 13u // the image is longer than a slot
#define STATUS_PLACE 14u // the bytes do not follow those received before
#define STATUS_CHECKSUM 15u // the image does not match its checksum
#define STATUS_INCOMPLETE 16u // the image is not complete
#define STATUS_FLASH 17u // the flash chip did not take what was written
#define STATUS_NOTHING_STAGED 18u // no values were put aside
#define STATUS_SPEED 19u // the line cannot run at this speed
#define STATUS_OTHER_HOST 20u // another host, on the other port of the box, has this in hand
#define STATUS_HASH 21u // the image is not the one that its head names
#define STATUS_WIRED 22u // an input that permits something has current: the box is wired
#define BOOT_POWER_UP 0u // power was switched on, or the reset pin
#define BOOT_UPDATE 1u // a new image was written
#define BOOT_LOADER 2u // a host asked for the loader
#define BOOT_RESTART 3u // a host asked for a restart
#define BOOT_TRAP 4u // the control module reached outside its bounds
#define BOOT_HARD_FAULT 5u // the processor met an instruction or address that it cannot use
#define BOOT_STACK 6u // the stack ran over its end
#define BOOT_HUNG 7u // the control tick stopped: the watchdog started the box again
#define BOOT_NO_IMAGE 8u // no slot holds a valid image
#define BOOT_IMAGE_FAILS 9u // the image failed three times before its first second was over
#define BOOT_ROLLED_BACK 10u // the newer image failed three times in a row: the box went back to the one before it
#define EVENT_NONE 0u // an unused place
#define EVENT_START 1u // the box started; detail: why (BOOT_*)
#define EVENT_MODE 2u // the mode changed; detail: mode + 256 × stage, value: hold
#define EVENT_FAULT 3u // a fault; detail: its code, value: the reading in mV
#define EVENT_DIGITAL_INPUTS 4u // inputs changed; detail: the new INPUT_* bits
#define EVENT_DIGITAL_OUTPUTS 5u // outputs changed; detail: the new OUTPUT_* bits
#define EVENT_TRAP 6u // the module trapped; detail: kind, value: tick
#define EVENT_HARD_FAULT 7u // value: the program counter
#define EVENT_STACK 8u // the stack’s end was overwritten
#define EVENT_OVERRUN 9u // a tick was late; value: its length in processor cycles
#define EVENT_CONVERTER 10u // the converter’s reference reading is off; detail: its counts
#define EVENT_RELAY 11u // no longer written: the fault relay-closed says it
#define EVENT_COMMIT 12u // parameters were kept; value: their generation
#define EVENT_LINK 13u // link lost (detail 0) or found (1)
#define EVENT_LOCKSTEP 14u // lockstep ended (detail 0) or began (1)
#define EVENT_HUNG 15u // the tick stopped; detail: mode, value: its last number
#define EVENT_PARAMETER 16u // a kept parameter was refused at the start, and the defaults taken; detail: its id
#define EVENT_DESK 17u // the desk state began: outputs at rest until the restart
#define EVENT_KEY_USB 18u // the key is on while a program has the box’s own USB port open; detail: the way
#define SLOT_EMPTY 0u // no image
#define SLOT_VALID 1u // an image, whole
#define SLOT_TRIAL 2u // a new image on trial: it has yet to run for a second and to answer once
#define SLOT_FAILED 3u // an image that failed three times in a row: the box went back from it and does not start it again
#define SLOT_DAMAGED 4u // an image that is not the one that its head names: it is not started
#define ORIGIN_DEFAULTS 0u // the defaults; none are kept
#define ORIGIN_OWN 1u // kept by this image
#define ORIGIN_OLDER 2u // taken over from an older image
#define ORIGIN_WITHHELD 3u // the defaults; those that are kept belong to another image, are damaged or were refused, and until they are set again the box cannot be armed

typedef struct {
  uint16_t protocol; // version of this link
  uint16_t board; // kind of board, BOARD_KIND
  uint8_t in_loader; // 1: the loader answers, 0: the box
  uint8_t boot; // why it started, BOOT_*
  uint8_t slot; // slot that runs or would be started, 0 or 1; 255: none
  uint8_t fault_before; // fault of the module when the box last stopped by itself
  uint32_t generation; // generation of that slot
  uint32_t parameter_generation; // generation of the parameters kept; 0: defaults
  uint16_t parameter_count; // parameters of the module
  uint16_t capacity; // Z steps that the board can put out in a millisecond; 0: not told
  uint32_t tick; // ticks since the start
  uint32_t worst_tick_cycles; // longest tick since the start, processor cycles
  uint32_t cycles_per_ms; // processor cycles in a millisecond
  char version[16]; // version of the firmware
  uint8_t module_sha256[32]; // of the control module
  uint8_t image_sha256[32]; // of the body of the image
  uint32_t chip_id; // as the chip names itself: revision in the upper 4 bits, part in 16, maker in 12; 0: not told
} wire_identity;
_Static_assert(sizeof(wire_identity) == 116, "identity");
_Static_assert(__builtin_offsetof(wire_identity, protocol) == 0, "identity.protocol");
_Static_assert(__builtin_offsetof(wire_identity, board) == 2, "identity.board");
_Static_assert(__builtin_offsetof(wire_identity, in_loader) == 4, "identity.in_loader");
_Static_assert(__builtin_offsetof(wire_identity, boot) == 5, "identity.boot");
_Static_assert(__builtin_offsetof(wire_identity, slot) == 6, "identity.slot");
_Static_assert(__builtin_offsetof(wire_identity, fault_before) == 7, "identity.fault_before");
_Static_assert(__builtin_offsetof(wire_identity, generation) == 8, "identity.generation");
_Static_assert(__builtin_offsetof(wire_identity, parameter_generation) == 12, "identity.parameter_generation");
_Static_assert(__builtin_offsetof(wire_identity, parameter_count) == 16, "identity.parameter_count");
_Static_assert(__builtin_offsetof(wire_identity, capacity) == 18, "identity.capacity");
_Static_assert(__builtin_offsetof(wire_identity, tick) == 20, "identity.tick");
_Static_assert(__builtin_offsetof(wire_identity, worst_tick_cycles) == 24, "identity.worst_tick_cycles");
_Static_assert(__builtin_offsetof(wire_identity, cycles_per_ms) == 28, "identity.cycles_per_ms");
_Static_assert(__builtin_offsetof(wire_identity, version) == 32, "identity.version");
_Static_assert(__builtin_offsetof(wire_identity, module_sha256) == 48, "identity.module_sha256");
_Static_assert(__builtin_offsetof(wire_identity, image_sha256) == 80, "identity.image_sha256");
_Static_assert(__builtin_offsetof(wire_identity, chip_id) == 112, "identity.chip_id");

typedef struct {
  uint32_t tick; // ticks since the start
} wire_ping;
_Static_assert(sizeof(wire_ping) == 4, "ping");
_Static_assert(__builtin_offsetof(wire_ping, tick) == 0, "ping.tick");

typedef struct {
  uint32_t tick; // ticks since the start
  uint32_t digital_inputs; // INPUT_*
  uint32_t digital_outputs; // OUTPUT_* at the pins
  uint32_t flags; // FLAG_*
  float measured_V; // arc voltage as the box sees it
  uint8_t mode; // MODE_*
  uint8_t fault; // FAULT_*; 0: none
  uint8_t refusal; // why the module would not start, REFUSAL_*
  uint8_t desk; // 1: in the desk state
} wire_state;
_Static_assert(sizeof(wire_state) == 24, "state");
_Static_assert(__builtin_offsetof(wire_state, tick) == 0, "state.tick");
_Static_assert(__builtin_offsetof(wire_state, digital_inputs) == 4, "state.digital_inputs");
_Static_assert(__builtin_offsetof(wire_state, digital_outputs) == 8, "state.digital_outputs");
_Static_assert(__builtin_offsetof(wire_state, flags) == 12, "state.flags");
_Static_assert(__builtin_offsetof(wire_state, measured_V) == 16, "state.measured_V");
_Static_assert(__builtin_offsetof(wire_state, mode) == 20, "state.mode");
_Static_assert(__builtin_offsetof(wire_state, fault) == 21, "state.fault");
_Static_assert(__builtin_offsetof(wire_state, refusal) == 22, "state.refusal");
_Static_assert(__builtin_offsetof(wire_state, desk) == 23, "state.desk");

typedef struct {
  uint32_t baud; // bit/s
} wire_line_speed;
_Static_assert(sizeof(wire_line_speed) == 4, "line_speed");
_Static_assert(__builtin_offsetof(wire_line_speed, baud) == 0, "line_speed.baud");

typedef struct {
  uint32_t first; // id or number of the first record wanted
  uint32_t count; // how many at most; fewer may come
} wire_span;
_Static_assert(sizeof(wire_span) == 8, "span");
_Static_assert(__builtin_offsetof(wire_span, first) == 0, "span.first");
_Static_assert(__builtin_offsetof(wire_span, count) == 4, "span.count");

typedef struct {
  uint16_t id; // of the parameter
  uint16_t spare; // 0
  float value;
} wire_value;
_Static_assert(sizeof(wire_value) == 8, "value");
_Static_assert(__builtin_offsetof(wire_value, id) == 0, "value.id");
_Static_assert(__builtin_offsetof(wire_value, spare) == 2, "value.spare");
_Static_assert(__builtin_offsetof(wire_value, value) == 4, "value.value");

typedef struct {
  uint16_t count; // values put aside
  uint16_t id; // parameter that was refused, or 65535
  uint32_t generation; // generation of the parameters kept
  uint16_t other; // the parameter that it contradicts, or 65535
  uint16_t spare; // 0
} wire_staged;
_Static_assert(sizeof(wire_staged) == 12, "staged");
_Static_assert(__builtin_offsetof(wire_staged, count) == 0, "staged.count");
_Static_assert(__builtin_offsetof(wire_staged, id) == 2, "staged.id");
_Static_assert(__builtin_offsetof(wire_staged, generation) == 4, "staged.generation");
_Static_assert(__builtin_offsetof(wire_staged, other) == 8, "staged.other");
_Static_assert(__builtin_offsetof(wire_staged, spare) == 10, "staged.spare");

typedef struct {
  uint16_t every_ms; // a row every so many ticks; 0: none
} wire_telemetry_request;
_Static_assert(sizeof(wire_telemetry_request) == 2, "telemetry_request");
_Static_assert(__builtin_offsetof(wire_telemetry_request, every_ms) == 0, "telemetry_request.every_ms");

typedef struct {
  uint32_t tick; // its number
  uint16_t digital_inputs; // INPUT_*
  uint16_t reading; // the tick’s ten converter readings, oldest first; the last is recorded
  int16_t x_steps; // X steps since the last tick
  int16_t y_steps; // Y steps since the last tick
  int16_t z_steps; // Z steps for the next tick, up is positive
  uint8_t digital_outputs; // OUTPUT_*
  uint8_t mode; // MODE_*
  uint8_t stage; // STAGE_*
  uint8_t hold; // HOLD_*
  uint8_t fault; // FAULT_*
  uint8_t refusal; // REFUSAL_*
  uint8_t flags; // FLAG_*
  uint8_t relay; // readback of the firing contact
  uint16_t cycles; // length of the tick in units of 4 processor cycles
  int32_t z; // Z since the box took it over
  float measured_V; // arc voltage as the box sees it, mean over half a mains period
  float target_V; // target with trim and feed effect
  float measured_error_mm; // standoff error as the regulator sees it, high is positive
  float z_velocity_mm_s; // commanded Z velocity
  float measured_feed_mm_s; // feed as the box sees it, filtered
  float slope_x; // estimated slope of the sheet along X
  float slope_y; // estimated slope of the sheet along Y
  float feed_effect_V; // feed effect as learned
} wire_telemetry;
_Static_assert(sizeof(wire_telemetry) == 60, "telemetry");
_Static_assert(__builtin_offsetof(wire_telemetry, tick) == 0, "telemetry.tick");
_Static_assert(__builtin_offsetof(wire_telemetry, digital_inputs) == 4, "telemetry.digital_inputs");
_Static_assert(__builtin_offsetof(wire_telemetry, reading) == 6, "telemetry.reading");
_Static_assert(__builtin_offsetof(wire_telemetry, x_steps) == 8, "telemetry.x_steps");
_Static_assert(__builtin_offsetof(wire_telemetry, y_steps) == 10, "telemetry.y_steps");
_Static_assert(__builtin_offsetof(wire_telemetry, z_steps) == 12, "telemetry.z_steps");
_Static_assert(__builtin_offsetof(wire_telemetry, digital_outputs) == 14, "telemetry.digital_outputs");
_Static_assert(__builtin_offsetof(wire_telemetry, mode) == 15, "telemetry.mode");
_Static_assert(__builtin_offsetof(wire_telemetry, stage) == 16, "telemetry.stage");
_Static_assert(__builtin_offsetof(wire_telemetry, hold) == 17, "telemetry.hold");
_Static_assert(__builtin_offsetof(wire_telemetry, fault) == 18, "telemetry.fault");
_Static_assert(__builtin_offsetof(wire_telemetry, refusal) == 19, "telemetry.refusal");
_Static_assert(__builtin_offsetof(wire_telemetry, flags) == 20, "telemetry.flags");
_Static_assert(__builtin_offsetof(wire_telemetry, relay) == 21, "telemetry.relay");
_Static_assert(__builtin_offsetof(wire_telemetry, cycles) == 22, "telemetry.cycles");
_Static_assert(__builtin_offsetof(wire_telemetry, z) == 24, "telemetry.z");
_Static_assert(__builtin_offsetof(wire_telemetry, measured_V) == 28, "telemetry.measured_V");
_Static_assert(__builtin_offsetof(wire_telemetry, target_V) == 32, "telemetry.target_V");
_Static_assert(__builtin_offsetof(wire_telemetry, measured_error_mm) == 36, "telemetry.measured_error_mm");
_Static_assert(__builtin_offsetof(wire_telemetry, z_velocity_mm_s) == 40, "telemetry.z_velocity_mm_s");
_Static_assert(__builtin_offsetof(wire_telemetry, measured_feed_mm_s) == 44, "telemetry.measured_feed_mm_s");
_Static_assert(__builtin_offsetof(wire_telemetry, slope_x) == 48, "telemetry.slope_x");
_Static_assert(__builtin_offsetof(wire_telemetry, slope_y) == 52, "telemetry.slope_y");
_Static_assert(__builtin_offsetof(wire_telemetry, feed_effect_V) == 56, "telemetry.feed_effect_V");

typedef struct {
  uint32_t tick; // when
  uint16_t start; // which start of the box, counted
  uint16_t kind; // EVENT_*
  uint32_t detail;
  int32_t value;
} wire_event;
_Static_assert(sizeof(wire_event) == 16, "event");
_Static_assert(__builtin_offsetof(wire_event, tick) == 0, "event.tick");
_Static_assert(__builtin_offsetof(wire_event, start) == 4, "event.start");
_Static_assert(__builtin_offsetof(wire_event, kind) == 6, "event.kind");
_Static_assert(__builtin_offsetof(wire_event, detail) == 8, "event.detail");
_Static_assert(__builtin_offsetof(wire_event, value) == 12, "event.value");

typedef struct {
  uint32_t first; // number of the first event here
  uint32_t next; // number that the next event will get
} wire_events;
_Static_assert(sizeof(wire_events) == 8, "events");
_Static_assert(__builtin_offsetof(wire_events, first) == 0, "events.first");
_Static_assert(__builtin_offsetof(wire_events, next) == 4, "events.next");

typedef struct {
  uint32_t tick; // its number
  uint16_t digital_inputs; // INPUT_*
  uint16_t reading; // the tick’s ten converter readings, oldest first; the last is recorded
  uint8_t mode; // MODE_*
  uint8_t hold; // HOLD_*
  uint8_t fault; // FAULT_*
  uint8_t digital_outputs; // OUTPUT_*
  int32_t z; // Z since the box took it over
  float measured_V; // arc voltage as the box sees it, mean over half a mains period
  float measured_error_mm; // standoff error as the regulator sees it, high is positive
} wire_moment;
_Static_assert(sizeof(wire_moment) == 24, "moment");
_Static_assert(__builtin_offsetof(wire_moment, tick) == 0, "moment.tick");
_Static_assert(__builtin_offsetof(wire_moment, digital_inputs) == 4, "moment.digital_inputs");
_Static_assert(__builtin_offsetof(wire_moment, reading) == 6, "moment.reading");
_Static_assert(__builtin_offsetof(wire_moment, mode) == 8, "moment.mode");
_Static_assert(__builtin_offsetof(wire_moment, hold) == 9, "moment.hold");
_Static_assert(__builtin_offsetof(wire_moment, fault) == 10, "moment.fault");
_Static_assert(__builtin_offsetof(wire_moment, digital_outputs) == 11, "moment.digital_outputs");
_Static_assert(__builtin_offsetof(wire_moment, z) == 12, "moment.z");
_Static_assert(__builtin_offsetof(wire_moment, measured_V) == 16, "moment.measured_V");
_Static_assert(__builtin_offsetof(wire_moment, measured_error_mm) == 20, "moment.measured_error_mm");

typedef struct {
  uint32_t first; // number of the first record here
  uint32_t next; // number that the next record will get
} wire_history;
_Static_assert(sizeof(wire_history) == 8, "history");
_Static_assert(__builtin_offsetof(wire_history, first) == 0, "history.first");
_Static_assert(__builtin_offsetof(wire_history, next) == 4, "history.next");

typedef struct {
  uint32_t count; // readings of the last whole second
  uint32_t sum; // of their counts
  uint32_t square_sum_low; // sum of (counts − least)², low half
  uint32_t square_sum_high; // high half
  uint16_t least;
  uint16_t most;
  uint16_t reference; // last reading of the board’s reference
  uint16_t spare; // 0
} wire_readings;
_Static_assert(sizeof(wire_readings) == 24, "readings");
_Static_assert(__builtin_offsetof(wire_readings, count) == 0, "readings.count");
_Static_assert(__builtin_offsetof(wire_readings, sum) == 4, "readings.sum");
_Static_assert(__builtin_offsetof(wire_readings, square_sum_low) == 8, "readings.square_sum_low");
_Static_assert(__builtin_offsetof(wire_readings, square_sum_high) == 12, "readings.square_sum_high");
_Static_assert(__builtin_offsetof(wire_readings, least) == 16, "readings.least");
_Static_assert(__builtin_offsetof(wire_readings, most) == 18, "readings.most");
_Static_assert(__builtin_offsetof(wire_readings, reference) == 20, "readings.reference");
_Static_assert(__builtin_offsetof(wire_readings, spare) == 22, "readings.spare");

typedef struct {
  uint32_t first; // ticks since lockstep-begin before these; more than were done: refused for their place
} wire_tick_inputs;
_Static_assert(sizeof(wire_tick_inputs) == 4, "tick_inputs");
_Static_assert(__builtin_offsetof(wire_tick_inputs, first) == 0, "tick_inputs.first");

typedef struct {
  uint8_t block[48]; // input block of the module, INPUT_*
} wire_tick_input;
_Static_assert(sizeof(wire_tick_input) == 48, "tick_input");
_Static_assert(__builtin_offsetof(wire_tick_input, block) == 0, "tick_input.block");

typedef struct {
  uint8_t block[96]; // output block of the module, OUTPUT_*
} wire_tick_output;
_Static_assert(sizeof(wire_tick_output) == 96, "tick_output");
_Static_assert(__builtin_offsetof(wire_tick_output, block) == 0, "tick_output.block");

typedef struct {
  int32_t id; // of the parameter; -1: load_defaults, -2: power_up
  float value;
} wire_one_value;
_Static_assert(sizeof(wire_one_value) == 8, "one_value");
_Static_assert(__builtin_offsetof(wire_one_value, id) == 0, "one_value.id");
_Static_assert(__builtin_offsetof(wire_one_value, value) == 4, "one_value.value");

typedef struct {
  float trim_V; // wanted; in the answer the one in force, never below the least standoff
} wire_trim;
_Static_assert(sizeof(wire_trim) == 4, "trim");
_Static_assert(__builtin_offsetof(wire_trim, trim_V) == 0, "trim.trim_V");

typedef struct {
  uint32_t outputs; // outputs to raise, the others of these rest: 1 `Z_STEP`, 2 `Z_DIRECTION`, 4 `Z_OWNED`, 8 `MOTION_PERMIT`
  int32_t z_goal; // steps of Z since the start of the box to go to, 50 a millisecond, while `Z_OWNED` is raised
} wire_trial_outputs;
_Static_assert(sizeof(wire_trial_outputs) == 8, "trial_outputs");
_Static_assert(__builtin_offsetof(wire_trial_outputs, outputs) == 0, "trial_outputs.outputs");
_Static_assert(__builtin_offsetof(wire_trial_outputs, z_goal) == 4, "trial_outputs.z_goal");

typedef struct {
  int32_t z_done; // steps of Z given so far
  int32_t x_counted; // steps of X counted in the desk state
  int32_t y_counted; // steps of Y counted in the desk state
} wire_trial_counts;
_Static_assert(sizeof(wire_trial_counts) == 12, "trial_counts");
_Static_assert(__builtin_offsetof(wire_trial_counts, z_done) == 0, "trial_counts.z_done");
_Static_assert(__builtin_offsetof(wire_trial_counts, x_counted) == 4, "trial_counts.x_counted");
_Static_assert(__builtin_offsetof(wire_trial_counts, y_counted) == 8, "trial_counts.y_counted");

typedef struct {
  uint32_t failure; // 1: the control tick hangs, 2: the stack runs over its end, 3: a write to the code
} wire_trial_failure;
_Static_assert(sizeof(wire_trial_failure) == 4, "trial_failure");
_Static_assert(__builtin_offsetof(wire_trial_failure, failure) == 0, "trial_failure.failure");

typedef struct {
  uint32_t answer; // SET_*
} wire_one_answer;
_Static_assert(sizeof(wire_one_answer) == 4, "one_answer");
_Static_assert(__builtin_offsetof(wire_one_answer, answer) == 0, "one_answer.answer");

typedef struct {
  uint32_t magic; // IMAGE_MAGIC
  uint16_t format; // IMAGE_FORMAT
  uint16_t board; // BOARD_KIND
  uint32_t length; // bytes of the body, which follows this page
  uint32_t body_crc; // CRC-32 of the body
  uint32_t generation; // given by the loader; 0 in the file
  uint32_t entry; // address that the body is copied to; its vector table stands there
  uint32_t export_table; // address of the table of what the desk may call (see firmware/box)
  uint32_t spare; // 0
  char version[16]; // version of the firmware
  uint8_t module_sha256[32]; // of the control module
  uint8_t image_sha256[32]; // of the body
  uint8_t unused[136]; // 255
  uint32_t head_crc; // CRC-32 of everything before it
} wire_image_head;
_Static_assert(sizeof(wire_image_head) == 252, "image_head");
_Static_assert(__builtin_offsetof(wire_image_head, magic) == 0, "image_head.magic");
_Static_assert(__builtin_offsetof(wire_image_head, format) == 4, "image_head.format");
_Static_assert(__builtin_offsetof(wire_image_head, board) == 6, "image_head.board");
_Static_assert(__builtin_offsetof(wire_image_head, length) == 8, "image_head.length");
_Static_assert(__builtin_offsetof(wire_image_head, body_crc) == 12, "image_head.body_crc");
_Static_assert(__builtin_offsetof(wire_image_head, generation) == 16, "image_head.generation");
_Static_assert(__builtin_offsetof(wire_image_head, entry) == 20, "image_head.entry");
_Static_assert(__builtin_offsetof(wire_image_head, export_table) == 24, "image_head.export_table");
_Static_assert(__builtin_offsetof(wire_image_head, spare) == 28, "image_head.spare");
_Static_assert(__builtin_offsetof(wire_image_head, version) == 32, "image_head.version");
_Static_assert(__builtin_offsetof(wire_image_head, module_sha256) == 48, "image_head.module_sha256");
_Static_assert(__builtin_offsetof(wire_image_head, image_sha256) == 80, "image_head.image_sha256");
_Static_assert(__builtin_offsetof(wire_image_head, unused) == 112, "image_head.unused");
_Static_assert(__builtin_offsetof(wire_image_head, head_crc) == 248, "image_head.head_crc");

typedef struct {
  uint8_t slot; // slot that is written
  uint8_t spare; // 0
  uint16_t spare2; // 0
  uint32_t received; // bytes of the body received so far: go on here
  uint32_t written; // bytes of it in flash
  uint32_t generation; // generation of the slot once marked
} wire_update_state;
_Static_assert(sizeof(wire_update_state) == 16, "update_state");
_Static_assert(__builtin_offsetof(wire_update_state, slot) == 0, "update_state.slot");
_Static_assert(__builtin_offsetof(wire_update_state, spare) == 1, "update_state.spare");
_Static_assert(__builtin_offsetof(wire_update_state, spare2) == 2, "update_state.spare2");
_Static_assert(__builtin_offsetof(wire_update_state, received) == 4, "update_state.received");
_Static_assert(__builtin_offsetof(wire_update_state, written) == 8, "update_state.written");
_Static_assert(__builtin_offsetof(wire_update_state, generation) == 12, "update_state.generation");

typedef struct {
  uint32_t slot; // 0 or 1
} wire_slot_request;
_Static_assert(sizeof(wire_slot_request) == 4, "slot_request");
_Static_assert(__builtin_offsetof(wire_slot_request, slot) == 0, "slot_request.slot");

typedef struct {
  uint8_t slot; // which
  uint8_t holds; // SLOT_*
  uint8_t runs; // 1: this one runs, or would be started
  uint8_t origin; // of the box and the slot that runs: ORIGIN_* of its parameters
  uint32_t generation; // of its image; 0: no image
  char version[16]; // as the head says
  uint8_t module_sha256[32]; // as the head says
  uint8_t image_sha256[32]; // of the body, as the head says
  uint8_t body_sha256[32]; // of the body, computed from what the flash chip holds
} wire_slot;
_Static_assert(sizeof(wire_slot) == 120, "slot");
_Static_assert(__builtin_offsetof(wire_slot, slot) == 0, "slot.slot");
_Static_assert(__builtin_offsetof(wire_slot, holds) == 1, "slot.holds");
_Static_assert(__builtin_offsetof(wire_slot, runs) == 2, "slot.runs");
_Static_assert(__builtin_offsetof(wire_slot, origin) == 3, "slot.origin");
_Static_assert(__builtin_offsetof(wire_slot, generation) == 4, "slot.generation");
_Static_assert(__builtin_offsetof(wire_slot, version) == 8, "slot.version");
_Static_assert(__builtin_offsetof(wire_slot, module_sha256) == 24, "slot.module_sha256");
_Static_assert(__builtin_offsetof(wire_slot, image_sha256) == 56, "slot.image_sha256");
_Static_assert(__builtin_offsetof(wire_slot, body_sha256) == 88, "slot.body_sha256");

typedef struct {
  uint32_t offset; // place in the body
} wire_update_bytes;
_Static_assert(sizeof(wire_update_bytes) == 4, "update_bytes");
_Static_assert(__builtin_offsetof(wire_update_bytes, offset) == 0, "update_bytes.offset");

typedef struct {
  uint8_t byte;
} wire_byte;
_Static_assert(sizeof(wire_byte) == 1, "byte");
_Static_assert(__builtin_offsetof(wire_byte, byte) == 0, "byte.byte");

typedef struct {
  uint32_t magic; // KEPT_MAGIC
  uint32_t generation; // the higher one counts
  uint32_t count; // f32 values that follow, by id
  uint32_t crc; // CRC-32 of everything before and behind it
  uint32_t image_generation; // of the image that kept them
  uint8_t image_sha256[32]; // of its body
} wire_kept_head;
_Static_assert(sizeof(wire_kept_head) == 52, "kept_head");
_Static_assert(__builtin_offsetof(wire_kept_head, magic) == 0, "kept_head.magic");
_Static_assert(__builtin_offsetof(wire_kept_head, generation) == 4, "kept_head.generation");
_Static_assert(__builtin_offsetof(wire_kept_head, count) == 8, "kept_head.count");
_Static_assert(__builtin_offsetof(wire_kept_head, crc) == 12, "kept_head.crc");
_Static_assert(__builtin_offsetof(wire_kept_head, image_generation) == 16, "kept_head.image_generation");
_Static_assert(__builtin_offsetof(wire_kept_head, image_sha256) == 20, "kept_head.image_sha256");

// What the module’s blocks give: X(field, type, how it is read, place)
#define TELEMETRY_FROM_MODULE(X) \
  X(digital_inputs, u16, input, INPUT_DIGITAL) \
  X(reading, u16, input_half, INPUT_READINGS + 18u) \
  X(x_steps, i16, input, INPUT_X_STEPS) \
  X(y_steps, i16, input, INPUT_Y_STEPS) \
  X(mode, u8, word, OUTPUT_MODE) \
  X(stage, u8, word, OUTPUT_STAGE) \
  X(hold, u8, word, OUTPUT_HOLD) \
  X(fault, u8, word, OUTPUT_FAULT) \
  X(refusal, u8, word, OUTPUT_REFUSAL) \
  X(flags, u8, word, OUTPUT_FLAGS) \
  X(z, i32, word, OUTPUT_Z) \
  X(measured_V, f32, real, OUTPUT_MEASURED_V) \
  X(target_V, f32, real, OUTPUT_TARGET_V) \
  X(measured_error_mm, f32, real, OUTPUT_MEASURED_ERROR_MM) \
  X(z_velocity_mm_s, f32, real, OUTPUT_Z_VELOCITY_MM_S) \
  X(measured_feed_mm_s, f32, real, OUTPUT_MEASURED_FEED_MM_S) \
  X(slope_x, f32, real, OUTPUT_SLOPE_X) \
  X(slope_y, f32, real, OUTPUT_SLOPE_Y) \
  X(feed_effect_V, f32, real, OUTPUT_FEED_EFFECT_V) \

#define MOMENT_FROM_MODULE(X) \
  X(digital_inputs, u16, input, INPUT_DIGITAL) \
  X(reading, u16, input_half, INPUT_READINGS + 18u) \
  X(mode, u8, word, OUTPUT_MODE) \
  X(hold, u8, word, OUTPUT_HOLD) \
  X(fault, u8, word, OUTPUT_FAULT) \
  X(z, i32, word, OUTPUT_Z) \
  X(measured_V, f32, real, OUTPUT_MEASURED_V) \
  X(measured_error_mm, f32, real, OUTPUT_MEASURED_ERROR_MM) \

// Formats
#define PROTOCOL 3u // version of the link
#define IMAGE_MAGIC 0x46444e53u // the bytes SNDF
#define IMAGE_FORMAT 1u // layout of an image
#define USB_VENDOR 11914u // of the box’s own USB port: the chip vendor’s number
#define USB_PRODUCT 10u // and the one that it lists for a serial port of this class
#define KEPT_MAGIC 0x514b4e53u // the bytes SNKQ
#define KEPT_MAGIC_1 0x504b4e53u // the bytes SNKP: parameters that do not say which image kept them
#define TRIAL_Z_STEP 1u
#define TRIAL_Z_DIRECTION 2u
#define TRIAL_Z_OWNED 4u // and Z steps towards the goal
#define TRIAL_PERMIT 8u
#define TRIAL_ALL 15u
#define TRIAL_HANG 1u // the control tick stops
#define TRIAL_STACK 2u // the stack runs over its end
#define TRIAL_PROTECTED 3u // a write to the code

#endif
