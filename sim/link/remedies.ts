import { STATUS_ROWS } from '../../firmware/wire/link-rows.js';
import { type CodeOf, StandoffError } from '../base/index.js';

/** What to do when the box refuses, by the name of the status. */
const REMEDIES = {
  unknown: 'the firmware is older or newer than this Standoff: standoff flash brings both to one version',
  length: 'the firmware is older or newer than this Standoff: standoff flash brings both to one version',
  range: 'standoff schema lists the ranges',
  id: 'the firmware has other parameters than this Standoff: standoff flash brings both to one version',
  contradiction: 'standoff simulate with this setup says which parameters contradict each other',
  key: 'turn the arm key off',
  busy: 'wait until the box is at rest',
  voltage: 'there must be no voltage at the tap: switch the cutting supply off; if it is off, do not touch the torch',
  lockstep: 'wait until the other session has ended',
  'not-begun': 'begin again',
  board: 'use an image for this board',
  format: 'use the loader that belongs to this image',
  'too-long': 'use an image for this board',
  place: 'begin the update again',
  checksum: 'the file or the line has changed a byte: try again, then look at the file',
  incomplete: 'begin the update again',
  flash: 'try again; if it happens again, the chip is worn or damaged',
  'nothing-staged': 'put values aside first',
  speed: 'use a lower speed',
} as const satisfies Readonly<Partial<Record<CodeOf<'box'>, string>>>;

const isKnown = (name: string): name is keyof typeof REMEDIES => Object.hasOwn(REMEDIES, name);

/** The box's refusal of a service as an error for a person. */
export function refusalOf(service: string, status: number): StandoffError {
  const row = STATUS_ROWS[status];
  const name = row?.name ?? '';
  const meaning = row?.meaning ?? `status ${status}, which this Standoff does not know`;
  return new StandoffError(
    isKnown(name) ? `box-${name}` : 'box-unknown-status',
    `the box refuses ${service}: ${meaning}`,
    isKnown(name) ? REMEDIES[name] : 'standoff flash brings firmware and Standoff to one version',
  );
}
