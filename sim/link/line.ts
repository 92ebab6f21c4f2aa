import { connect, type Socket } from 'node:net';
import { BAUD_AT_START } from '../../firmware/wire/link-rows.js';
import { FORMAT_NUMBER_ROWS, numberOf, USB_SERIAL_PREFIX } from '../../firmware/wire/number-rows.js';
import { type CodeOf, StandoffError } from '../base/index.js';

/** A byte stream to a box: a serial port, a TCP connection, or a test's own. */
export interface Line {
  /** As the user named it. */
  readonly address: string;
  /** Speed of the line as this end has set it, bit/s. */
  readonly baud: number;
  /** The port is the box's own: it goes and comes back with every restart of the box. */
  readonly of_the_box?: boolean;
  /** Of that box, where it was told: the port may come back under another name. */
  readonly serial?: string;
  /** Bytes given to `write` that have not left yet. */
  readonly pending: number;
  /** Takes bytes to send. A line that has ended or has PENDING_MOST bytes pending drops them: requests are sent again. */
  write(bytes: Uint8Array): void;
  /** Called with every piece that arrives. */
  onBytes: (bytes: Uint8Array) => void;
  /** Called once, when the other end is gone or the port has failed; the reason is for a person. */
  onClosed: (reason: string) => void;
  /** Changes the speed of the line, bit/s, after what was written has left; TCP has no speed. */
  setSpeed(baud: number): Promise<void>;
  close(): Promise<void>;
}

/** A serial port as the system lists it. */
export interface SystemPort {
  readonly path: string;
  /** Serial number of a box whose own port it is; empty for any other port. */
  readonly serial: string;
}

/** The pair that a box's own port has on every system, as systems write it; the maker's name depends on the driver. */
const [VENDOR, PRODUCT] = ['USB_VENDOR', 'USB_PRODUCT'].map((name) =>
  numberOf(FORMAT_NUMBER_ROWS, name).toString(16).padStart(4, '0'),
);

/** The serial ports that the system names. @throws what the package throws, such as ENOENT where udevadm is missing */
export async function systemPorts(): Promise<SystemPort[]> {
  const { SerialPort } = await import('serialport');
  const found = await SerialPort.list();
  const is = (word: string | undefined, wanted: string) => word?.toLowerCase() === wanted;
  return found
    .map(({ path, serialNumber = '', vendorId, productId }) => {
      const own = is(vendorId, VENDOR) && is(productId, PRODUCT);
      return { path, serial: own && isSerial(serialNumber) ? serialNumber.toUpperCase() : '' };
    })
    .sort((one, other) => (one.path < other.path ? -1 : 1));
}

/** Whether an address is a serial number, or the beginning of one. */
const isSerial = (address: string): boolean => address.toUpperCase().startsWith(USB_SERIAL_PREFIX);

/** The port of the box with this serial number, whatever name the system gave it this time. @throws StandoffError `port-…` */
async function portOf(serial: string): Promise<SystemPort> {
  const wanted = serial.toUpperCase();
  const boxes = (await systemPorts().catch((error) => Promise.reject(noList(serial, error)))).filter(
    (port) => port.serial !== '',
  );
  const found = boxes.filter((port) => port.serial.startsWith(wanted));
  if (found.length === 1) return found[0];
  const names = boxes.map((port) => port.serial).join(', ');
  if (found.length > 1) {
    throw new StandoffError(
      'port-address',
      `${serial} begins the serial number of ${found.length} boxes`,
      `give one of ${names}`,
    );
  }
  const remedy = names === '' ? 'plug its USB cable in; standoff ports --watch shows it come' : `plugged in: ${names}`;
  throw new StandoffError('port-missing', `there is no port of a box ${serial}`, remedy);
}

function noList(serial: string, error: Error): StandoffError {
  const [why] = error.message.split('\n');
  return new StandoffError(
    'port-missing',
    `this system gives no list of ports to look ${serial} up in (${why})`,
    'name the port itself, such as /dev/ttyACM0; on Linux the list comes from udevadm, mostly in the package udev',
  );
}

/** Most bytes to hold for a port that takes none. */
export const PENDING_MOST = 0x10000;
/** How a server says that somebody else has the line; what follows is who. */
export const IN_USE = 'the line is in use by ';
/** How a port that is no more ends its line. */
const GONE = 'the port has gone: was the plug pulled?';
/** How long a connection may take, ms. */
const CONNECT_MS = 5000;

/**
 * Opens a serial port (`/dev/ttyUSB0`, `COM3`) at BAUD_AT_START, the own port of a box by its serial number (`SNDF-…`, or
 * the beginning of it), `tcp://host:port`, or `usb://host:port`, the own port of an emulated box.
 * @throws StandoffError `port-…`
 */
export async function openLine(address: string): Promise<Line> {
  if (address.trim() === '') {
    const remedy = 'name one, such as /dev/ttyUSB0, COM3 or tcp://host:port; standoff ports lists the ports';
    throw new StandoffError('port-address', `the address of the port is empty`, remedy);
  }
  if (isSerial(address)) {
    const { path, serial } = await portOf(address);
    return openSerial(path, serial);
  }
  const [, scheme] = /^(tcp|usb):\/\//.exec(address) ?? [];
  if (scheme === undefined) return openSerial(address, await serialAt(address));
  const [, host, port] = /^\w+:\/\/([^:/]+):(\d+)\/?$/.exec(address) ?? [];
  if (host === undefined || port === undefined || Number(port) > 65_535) {
    throw new StandoffError(
      'port-address',
      `${address} is not an address`,
      `write ${scheme}://host:port, such as ${scheme}://127.0.0.1:4100`,
    );
  }
  const socket = await connectTcp(address, host, Number(port));
  return new TcpLine(address, socket, scheme === 'usb' ? await greeted(address, socket) : '');
}

/** Serial number of the box whose own port this is; empty for any other, and where the system gives no list. */
const serialAt = async (path: string): Promise<string> => {
  const ports = await systemPorts().catch(() => []);
  return ports.find((port) => port.path === path)?.serial ?? '';
};

/** What every line has in common. */
abstract class OpenLine implements Line {
  onBytes: (bytes: Uint8Array) => void = () => {};
  onClosed: (reason: string) => void = () => {};
  baud = BAUD_AT_START;
  private ended = false;

  constructor(readonly address: string) {}

  abstract readonly pending: number;
  abstract close(): Promise<void>;
  protected abstract send(bytes: Uint8Array): void;

  write(bytes: Uint8Array): void {
    if (!this.ended && this.pending + bytes.length <= PENDING_MOST) this.send(bytes);
  }

  async setSpeed(baud: number): Promise<void> {
    this.baud = baud;
  }

  protected end(reason: string): void {
    if (this.ended) return;
    this.ended = true;
    this.onClosed(reason);
  }
}

class TcpLine extends OpenLine {
  readonly of_the_box: boolean;

  /** @param serial of the box whose own port this is, or empty */
  constructor(
    address: string,
    private readonly socket: Socket,
    readonly serial: string,
  ) {
    super(address);
    this.of_the_box = serial !== '';
    socket.setNoDelay(true);
    socket.on('data', (bytes) => {
      const text = bytes.toString('latin1');
      if (text.startsWith(IN_USE)) this.end(text.trim());
      else this.onBytes(bytes);
    });
    socket.on('error', (error) => this.end(error.message));
    socket.on('close', () => this.end(this.of_the_box ? GONE : 'the other end has closed the connection'));
  }

  get pending(): number {
    return this.socket.writableLength;
  }

  protected send(bytes: Uint8Array): void {
    if (!this.socket.destroyed) this.socket.write(bytes);
  }

  close(): Promise<void> {
    return new Promise((resolve) => {
      if (this.socket.destroyed) resolve();
      this.socket.once('close', () => resolve());
      this.socket.destroy();
    });
  }
}

function connectTcp(address: string, host: string, port: number): Promise<Socket> {
  return new Promise((resolve, reject) => {
    const socket = connect({ host, port });
    const fail = (why: string) => {
      socket.destroy();
      const remedy = 'is something listening there? standoff emulate prints its address';
      reject(new StandoffError('port-closed', `no connection to ${address}: ${why}`, remedy));
    };
    socket.setTimeout(CONNECT_MS, () => fail('no answer'));
    socket.once('error', (error) => fail((error as NodeJS.ErrnoException).code ?? error.message));
    socket.once('connect', () => {
      socket.setTimeout(0);
      socket.removeAllListeners('error');
      resolve(socket);
    });
  });
}

/**
 * Waits for the serial number with which an emulated box shows that its own port is there: `SNDF-…` and a byte 0.
 * @throws StandoffError `port-missing` while the port is gone, `port-busy`, `port-closed` where something else listens
 */
function greeted(address: string, socket: Socket): Promise<string> {
  return new Promise((resolve, reject) => {
    let said = '';
    const settle = (end: () => void) => {
      for (const event of ['data', 'close', 'error']) socket.removeAllListeners(event);
      socket.setTimeout(0);
      end();
    };
    const refuse = (...why: readonly [CodeOf<'port'>, string, string]) =>
      settle(() => {
        socket.destroy();
        reject(new StandoffError(`port-${why[0]}`, why[1], why[2]));
      });
    const other = () =>
      refuse('closed', `${address} is no USB port of an emulated box`, 'write tcp:// in place of usb://');
    const gone = () => refuse('missing', `there is no port at ${address} now`, 'the box may be starting: try again');
    socket.setTimeout(CONNECT_MS, other);
    socket.on('data', (bytes) => {
      said += bytes.toString('latin1');
      const end = said.indexOf('\0');
      if (isSerial(said) && end > 0) settle(() => resolve(said.slice(0, end)));
      else if (said.startsWith(IN_USE)) refuse('busy', `${address}: ${said.trim()}`, 'close the program that uses it');
      else if (!USB_SERIAL_PREFIX.startsWith(said.slice(0, USB_SERIAL_PREFIX.length))) other();
    });
    socket.on('error', gone);
    socket.on('close', gone);
  });
}

/** The part of the package that is used here. */
type Port = import('serialport').SerialPort;

class SerialLine extends OpenLine {
  readonly of_the_box: boolean;

  constructor(
    address: string,
    private readonly port: Port,
    readonly serial: string,
  ) {
    super(address);
    this.of_the_box = serial !== '';
    port.on('data', (bytes: Buffer) => this.onBytes(bytes));
    port.on('error', (error: Error) => this.end(error.message));
    port.on('close', () => this.end(GONE));
  }

  get pending(): number {
    return this.port.writableLength;
  }

  protected send(bytes: Uint8Array): void {
    if (this.port.isOpen) this.port.write(Buffer.from(bytes));
  }

  override async setSpeed(baud: number): Promise<void> {
    await within(PORT_MS, (done) => this.port.drain(done));
    await new Promise<void>((resolve, reject) => {
      this.port.update({ baudRate: baud }, (error) => {
        if (!error) return resolve();
        const what = `${this.address} does not take ${baud} bit/s: ${error.message}`;
        reject(new StandoffError('port-speed', what, 'use a lower speed'));
      });
    });
    await super.setSpeed(baud);
  }

  async close(): Promise<void> {
    if (this.port.isOpen) await within(PORT_MS, (done) => this.port.close(done));
  }
}

/** Longest time for a port to send what it has, or to close, ms: with the plug pulled it may never finish. */
const PORT_MS = 1000;

function within(ms: number, begin: (done: () => void) => void): Promise<void> {
  return new Promise((resolve) => {
    const timer = setTimeout(resolve, ms);
    begin(() => {
      clearTimeout(timer);
      resolve();
    });
  });
}

async function openSerial(address: string, serial: string): Promise<Line> {
  // Loaded late, so that a command without a port needs no native part. Its defaults are 8 data bits, no parity and one
  // stop bit. The control lines stay as they are: the box has none, and a pseudo-terminal refuses to set them.
  const { SerialPort } = await import('serialport');
  const port = new SerialPort({ path: address, baudRate: BAUD_AT_START, autoOpen: false });
  await new Promise<void>((resolve, reject) => {
    port.open((error) => (error ? reject(openError(address, error)) : resolve()));
  });
  return new SerialLine(address, port, serial);
}

function openError(address: string, error: Error): StandoffError {
  const said = error.message;
  if (/no such file|not found|cannot find/i.test(said)) {
    return new StandoffError('port-missing', `there is no port ${address}`, 'standoff ports lists the ports');
  }
  if (/permission|access denied|EACCES/i.test(said)) {
    const remedy =
      'on Linux join the group that owns it, mostly dialout (sudo usermod -aG dialout "$USER"), and log in again; ' +
      'elsewhere close the program that uses it';
    return new StandoffError('port-refused', `${address} may not be opened`, remedy);
  }
  if (/busy|lock|temporarily unavailable/i.test(said)) {
    return new StandoffError('port-busy', `${address} is in use`, 'close the program that uses it');
  }
  if (/inappropriate ioctl|not a tty|invalid argument/i.test(said)) {
    return new StandoffError('port-none', `${address} is not a serial port`, 'standoff ports lists the ports');
  }
  return new StandoffError('port-failed', `${address} cannot be opened: ${said}`, 'standoff ports lists the ports');
}
