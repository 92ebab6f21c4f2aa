/** Codes of the link: statuses of an answer, causes of a start, slots, origins of parameters, events. Numbers are never reused. */

export interface StatusRow {
  readonly code: number;
  readonly name: string;
  /** What the host says to the person. */
  readonly meaning: string;
}

const statuses = (rows: readonly (readonly [string, string])[]): readonly StatusRow[] =>
  rows.map(([name, meaning], code) => ({ code, name, meaning }));

/** Why a request was refused; 0: done. */
export const STATUS_ROWS = statuses([
  ['done', 'done'],
  ['unknown', 'the box does not know this service'],
  ['length', 'the request has the wrong length'],
  ['range', 'a value is outside its range'],
  ['id', 'there is no such parameter'],
  ['contradiction', 'the parameters contradict each other'],
  ['key', 'the arm key is on'],
  ['busy', 'the box is not at rest'],
  ['voltage', 'there is voltage at the tap'],
  ['lockstep', 'the box is in lockstep with a host'],
  ['not-begun', 'nothing has been begun'],
  ['board', 'the image is for another board'],
  ['format', 'the image has a format that this loader does not know'],
  ['too-long', 'the image is longer than a slot'],
  ['place', 'the bytes do not follow those received before'],
  ['checksum', 'the image does not match its checksum'],
  ['incomplete', 'the image is not complete'],
  ['flash', 'the flash chip did not take what was written'],
  ['nothing-staged', 'no values were put aside'],
  ['speed', 'the line cannot run at this speed'],
  ['other-host', 'another host, on the other port of the box, has this in hand'],
  ['hash', 'the image is not the one that its head names'],
  ['wired', 'an input that permits something has current: the box is wired'],
]);

/** Why the box started. */
export const BOOT_ROWS = statuses([
  ['power-up', 'power was switched on, or the reset pin'],
  ['update', 'a new image was written'],
  ['loader', 'a host asked for the loader'],
  ['restart', 'a host asked for a restart'],
  ['trap', 'the control module reached outside its bounds'],
  ['hard-fault', 'the processor met an instruction or address that it cannot use'],
  ['stack', 'the stack ran over its end'],
  ['hung', 'the control tick stopped: the watchdog started the box again'],
  ['no-image', 'no slot holds a valid image'],
  ['image-fails', 'the image failed three times before its first second was over'],
  ['rolled-back', 'the newer image failed three times in a row: the box went back to the one before it'],
]);

/** What a slot holds. */
export const SLOT_ROWS = statuses([
  ['empty', 'no image'],
  ['valid', 'an image, whole'],
  ['trial', 'a new image on trial: it has yet to run for a second and to answer once'],
  ['failed', 'an image that failed three times in a row: the box went back from it and does not start it again'],
  ['damaged', 'an image that is not the one that its head names: it is not started'],
]);

/** Where the parameters of the running image come from. */
export const ORIGIN_ROWS = statuses([
  ['defaults', 'the defaults; none are kept'],
  ['own', 'kept by this image'],
  ['older', 'taken over from an older image'],
  [
    'withheld',
    'the defaults; those that are kept belong to another image, are damaged or were refused, and until they are set again the box cannot be armed',
  ],
]);

/** Kinds of event in the ring. `detail` and `value` are explained by `meaning`. */
export const EVENT_ROWS = statuses([
  ['none', 'an unused place'],
  ['start', 'the box started; detail: why (BOOT_*)'],
  ['mode', 'the mode changed; detail: mode + 256 × stage, value: hold'],
  ['fault', 'a fault; detail: its code, value: the reading in mV'],
  ['digital_inputs', 'inputs changed; detail: the new INPUT_* bits'],
  ['digital_outputs', 'outputs changed; detail: the new OUTPUT_* bits'],
  ['trap', 'the module trapped; detail: kind, value: tick'],
  ['hard-fault', 'value: the program counter'],
  ['stack', 'the stack’s end was overwritten'],
  ['overrun', 'a tick was late; value: its length in processor cycles'],
  ['converter', 'the converter’s reference reading is off; detail: its counts'],
  ['relay', 'no longer written: the fault relay-closed says it'],
  ['commit', 'parameters were kept; value: their generation'],
  ['link', 'link lost (detail 0) or found (1)'],
  ['lockstep', 'lockstep ended (detail 0) or began (1)'],
  ['hung', 'the tick stopped; detail: mode, value: its last number'],
  ['parameter', 'a kept parameter was refused at the start, and the defaults taken; detail: its id'],
  ['desk', 'the desk state began: outputs at rest until the restart'],
  ['key-usb', 'the key is on while a program has the box’s own USB port open; detail: the way'],
]);
