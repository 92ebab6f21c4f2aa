import type { ChildProcess } from 'node:child_process';
import { start } from '../commands/command.js';

/** `standoff emulate` in a process of its own, as a user has it in another window. */
export class Emulation {
  /** Everything it has printed. */
  printed = '';

  private constructor(private readonly child: ChildProcess) {
    child.stdout?.on('data', (chunk) => {
      this.printed += String(chunk);
    });
    child.stderr?.on('data', (chunk) => {
      this.printed += String(chunk);
    });
  }

  /** Starts it on any free port and waits until it has said where it is. Whoever starts it stops it. */
  static async start(folder: string, ...args: readonly string[]): Promise<Emulation> {
    const emulation = new Emulation(start(folder, ['emulate', '--listen', '0', ...args]));
    await emulation.until(/^keys: /m);
    return emulation;
  }

  /** The first address that it printed. */
  get address(): string {
    return /^address: (\S+)$/m.exec(this.printed)?.[1] ?? '';
  }

  get tcp_port(): number {
    return Number(this.address.split(':').at(-1));
  }

  /** Presses a key. */
  press(key: string): void {
    this.child.stdin?.write(key);
  }

  /** Waits until it has printed this. @throws when it ends before */
  async until(words: RegExp): Promise<void> {
    while (!words.test(this.printed)) {
      if (this.child.exitCode !== null) throw new Error(`emulate ended: ${this.printed}`);
      await new Promise((resolve) => setTimeout(resolve, 20));
    }
  }

  /** Ends it with q. @returns its exit status */
  async stop(): Promise<number | null> {
    if (this.child.exitCode !== null) return this.child.exitCode;
    const ended = new Promise<number | null>((resolve) => this.child.once('exit', resolve));
    this.press('q');
    return ended;
  }
}
