// Imported by index.ts alone; apart from line.ts, which opens a port once and remembers nothing.
import { type Line, openLine } from './line.js';

/** A port of a box that has another name now. */
export interface Moved {
  readonly serial: string;
  readonly from: string;
  readonly to: string;
}

/**
 * Opens the port of one box again and again. Once its serial number is known the box is looked for by that, whatever name the
 * system gives its port this time; where it is not told, by the address alone.
 * @param onMoved told when the name has changed
 * @returns opens the port at this address. @throws StandoffError `port-…`
 */
export function portFollower(
  onMoved: (moved: Moved) => void,
  open: (address: string) => Promise<Line> = openLine,
): (address: string) => Promise<Line> {
  let serial = '';
  let path = '';
  return async (address) => {
    // An address with a scheme stays what it is.
    const line = await open(serial === '' || address.includes('://') ? address : serial);
    if (serial !== '' && line.serial === serial && line.address !== path) {
      onMoved({ serial, from: path, to: line.address });
    }
    if (line.serial !== undefined) serial = line.serial;
    path = line.address;
    return line;
  };
}
