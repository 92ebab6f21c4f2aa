/**
 * What a system makes of the USB port of an emulated box: a device file that goes and comes back with every restart, under another
 * name each time, and a list of devices with its serial number. The file is socat's pseudo-terminal, the list a program of the name
 * that the list is asked from.
 */
import { type ChildProcess, spawn } from 'node:child_process';
import { chmodSync, existsSync, rmSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { openLine } from '../../sim/link/index.js';

const pause = (ms: number) => new Promise((resolve) => setTimeout(resolve, ms));
const LOOK_MS = 50;

export class PluggedPort {
  /** Of the box; empty before it was first there. */
  serial = '';
  /** How often it came: the last name ends in one less. */
  came = 0;
  private socat: ChildProcess | undefined;
  private over = false;
  private readonly running: Promise<void>;

  /** @param address usb://host:port of the emulated box; @param folder on the search path of the commands */
  constructor(
    private readonly command: string,
    private readonly folder: string,
    private readonly address: string,
  ) {
    this.list('');
    const program = join(folder, 'udevadm');
    writeFileSync(program, `#!/bin/sh\ncat '${join(folder, 'devices')}'\n`);
    chmodSync(program, 0o755);
    this.running = this.run();
  }

  /** The name of the nth time, from 0. */
  name(nth: number): string {
    return join(this.folder, `ttyACM${nth}`);
  }

  /** @throws Error when it does not come */
  async until(came: number): Promise<void> {
    for (let waited_ms = 0; this.came < came; waited_ms += LOOK_MS) {
      if (waited_ms > 30_000) throw new Error(`the port came ${this.came} times`);
      await pause(LOOK_MS);
    }
  }

  async stop(): Promise<void> {
    this.over = true;
    this.socat?.kill();
    await this.running;
  }

  private list(path: string): void {
    const entry = [
      'P: /devices/usb1/1-1',
      `N: ${path.split('/').at(-1)}`,
      `E: DEVNAME=${path}`,
      'E: ID_VENDOR_ID=2e8a',
      'E: ID_MODEL_ID=000a',
      `E: ID_SERIAL_SHORT=${this.serial}`,
      '',
    ];
    writeFileSync(join(this.folder, 'devices'), path === '' ? '' : entry.join('\n'));
  }

  private async run(): Promise<void> {
    while (!this.over) {
      try {
        const line = await openLine(this.address);
        this.serial = line.serial ?? '';
        await line.close();
        await this.plug();
      } catch {
        await pause(LOOK_MS);
      }
    }
  }

  /** Until the port has gone. */
  private async plug(): Promise<void> {
    const path = this.name(this.came);
    const tcp = this.address.replace('usb://', 'tcp:');
    const socat = spawn(this.command, [`pty,raw,echo=0,link=${path}`, `${tcp},nodelay`], { stdio: 'ignore' });
    this.socat = socat;
    const gone = new Promise<void>((resolve) => socat.once('exit', () => resolve()));
    while (!existsSync(path) && socat.exitCode === null) await pause(5);
    this.came++;
    this.list(path);
    await gone;
    this.list('');
    rmSync(path, { force: true });
  }
}
