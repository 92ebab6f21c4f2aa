// Whether the converter can be believed: its second channel reads half of the board's own reference.

import { INPUT_REFERENCE, REFERENCE_COUNTS } from '../wire/layout.gen';
import { decide, integrate } from './debounce';
import { INPUT, S } from './state';

/**
 * Two resistors of 1 % and the converter's own error (a few counts) stay far inside; a converter that is dead, stuck or
 * looks at the other channel does not.
 */
const WITHIN_COUNTS = 82;
/** So many ticks with a wrong reference, and no reading is believed until as many were right again. */
const REFERENCE_TICKS = 5;

export function readReference(): void {
  const off = <i32>load<u16>(INPUT + INPUT_REFERENCE) - REFERENCE_COUNTS;
  const wrong = off > WITHIN_COUNTS || off < -WITHIN_COUNTS;
  S.reference_count = integrate(S.reference_count, wrong, 1, 1, REFERENCE_TICKS);
  S.converter_dead = decide(S.converter_dead, S.reference_count, REFERENCE_TICKS);
}
