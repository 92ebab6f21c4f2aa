import { InvalidArgumentError, Option } from '@commander-js/extra-typings';
import { loadControlModule } from '../../run/controller/index.js';

export const PORT_WORDS = 'serial port such as /dev/ttyUSB0 or COM3, or tcp://host:port';

/** `--port`, the same in every command that talks to a box. */
export const portOption = () => new Option('--port <address>', PORT_WORDS).makeOptionMandatory();

/** Speed that today's adapters reach; the telemetry of every tick fits. */
export const DEFAULT_BAUD = 921_600;
const LEAST_BAUD = 9600;
const MOST_BAUD = 2_000_000;

function baudOf(text: string): number {
  const baud = Number(text);
  if (/^\d+$/.test(text) && baud >= LEAST_BAUD && baud <= MOST_BAUD) return baud;
  throw new InvalidArgumentError(`Give a whole number from ${LEAST_BAUD} to ${MOST_BAUD}.`);
}

/** `--baud`: the speed to try; box and adapter must both take it. */
export const baudOption = () =>
  new Option('--baud <n>', 'speed of the line to try, bit/s').argParser(baudOf).default(DEFAULT_BAUD);

/** SHA-256 of the control module on the desk. */
export const deskModule = (): string => loadControlModule().sha256;
