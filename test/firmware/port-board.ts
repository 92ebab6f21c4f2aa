import { execFileSync } from 'node:child_process';
import { cpSync, mkdtempSync, readFileSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { image } from '../../firmware/image/pack.mjs';
import { boardNumber } from '../../firmware/ports/rp2040/board-rows.js';
import { PORT } from '../../firmware/ports/rp2040/port.js';
import { EmulatedBoard } from '../../sim/emulator/index.js';
import type { ReferenceProgram } from '../reference/support.js';

const ROOT = fileURLToPath(new URL('../..', import.meta.url));
const PORT_FOLDER = 'firmware/ports/rp2040';
const LOADER_FOLDER = 'firmware/loader';

export const ARM_GCC: ReferenceProgram = {
  name: 'arm-none-eabi-gcc',
  debian: 'gcc-arm-none-eabi',
  command: 'arm-none-eabi-gcc',
  probe: ['--version'],
};

/** A defect planted in a source of the port: what stands there, once, and what is put in its place. */
export interface PortDefect {
  readonly source: string;
  readonly from: string;
  readonly to: string;
}

/** An image of the port, sound or with a defect, and a box of test/firmware/native. */
export function buildPortImage(gcc: string, box = 'port-box', defect?: PortDefect): Buffer {
  const folder = mkdtempSync(join(tmpdir(), 'standoff-port-'));
  for (const copied of [PORT_FOLDER, LOADER_FOLDER])
    cpSync(join(ROOT, copied), join(folder, copied), { recursive: true });
  const port = join(folder, PORT_FOLDER);
  if (defect !== undefined) plant(join(port, defect.source), defect);
  const elf = join(folder, 'port.elf');
  const binary = join(folder, 'port.bin');
  execFileSync(gcc, [
    ...[...PORT.core, '-std=c11', '-O2', '-ffreestanding', '-fno-builtin', '-nostdlib'],
    ...['-fno-tree-loop-distribute-patterns', '-fno-optimize-sibling-calls', '-Wl,-z,noexecstack'],
    ...[join(ROOT, 'firmware/wire'), join(ROOT, 'firmware/box'), port].map((room) => `-I${room}`),
    ...['-T', join(port, PORT.scripts.image)],
    ...PORT.image.map((name) => join(port, name)),
    join(ROOT, `test/firmware/native/${box}.c`),
    ...['-lgcc', '-o', elf],
  ]);
  execFileSync(gcc.replace(/gcc$/, 'objcopy'), ['-O', 'binary', elf, binary]);
  return image(boardNumber, readFileSync(binary), {
    version: 'port',
    module_sha256: Buffer.alloc(32),
    export_table: 0,
  });
}

function plant(path: string, { from, to }: PortDefect): void {
  const parts = readFileSync(path, 'utf8').split(from);
  if (parts.length !== 2) throw new Error(`${path} has ${parts.length - 1} times: ${from}`);
  writeFileSync(path, parts.join(to));
}

export interface PortReport {
  readonly cause: number;
  readonly slot: number;
  readonly detail: number;
  readonly ticks: number;
  readonly overruns: number;
  readonly lines: number;
  readonly x_steps: number;
  readonly y_steps: number;
  readonly reading_sum: number;
  readonly reference: number;
  readonly relay: number;
  readonly kept: number;
  readonly intact: number;
}

const MS_ns = 1e6;

/** The emulated board with the shipped loader and an image of one's own, told by letters. */
export class PortBoard {
  private text = '';

  private constructor(readonly board: EmulatedBoard) {
    board.onByte = (byte) => {
      this.text += String.fromCharCode(byte);
    };
  }

  static async create(image: Uint8Array): Promise<PortBoard> {
    const loader = readFileSync(join(ROOT, 'firmware/image/loader.bin'));
    const made = new PortBoard(await EmulatedBoard.create({ loader, image }));
    made.ready();
    return made;
  }

  /** Until it ticks, after a start. */
  ready(): void {
    const ticks = this.board.tick.count;
    if (!this.board.runUntil(() => this.board.tick.count > ticks + 2, 2000 * MS_ns))
      throw new Error('it does not tick');
  }

  run(ms: number): void {
    this.board.run(ms * MS_ns);
  }

  tell(command: string, value?: number): void {
    const bytes = [command.charCodeAt(0)];
    if (value !== undefined) bytes.push(value & 0xff);
    this.board.send(Uint8Array.from(bytes));
    this.run(2);
  }

  /** The next line that it says. */
  line(within_ms = 200): string {
    if (!this.board.runUntil(() => this.text.includes('\n'), within_ms * MS_ns)) throw new Error('it says nothing');
    const end = this.text.indexOf('\n');
    const line = this.text.slice(0, end);
    this.text = this.text.slice(end + 1);
    return line;
  }

  report(): PortReport {
    this.text = '';
    this.board.send(Uint8Array.from(['?'.charCodeAt(0)]));
    return JSON.parse(this.line()) as PortReport;
  }

  /** Waits for a restart and the first ticks after it. */
  restarted(): void {
    this.text = '';
    this.ready();
  }
}
