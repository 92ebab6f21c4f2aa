/** The page of the link against a client in Python that was written from it alone, on an emulated board without wires. */
import { execFile } from 'node:child_process';
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { expect, it } from 'vitest';
import { MODE_FAULT, PARAMETER_READING_ZERO_COUNTS } from '../../firmware/wire/codes.gen.js';
import { INPUT_BREAKAWAY, INPUT_STOP_CHAIN, OUTPUT_BYTES } from '../../firmware/wire/layout.gen.js';
import { GOLDEN_FRAMES, LINK_TIMES } from '../../firmware/wire/link-page.js';
import { BOOT_ROWS, STATUS_ROWS } from '../../firmware/wire/link-rows.js';
import { FORMAT_NUMBER_ROWS, numberOf } from '../../firmware/wire/number-rows.js';
import { encodeFrame, readImage } from '../../sim/link/index.js';
import { loadControlModule, WasmController } from '../../sim/run/controller/index.js';
import { folderWith } from '../commands/command.js';
import { Emulation } from '../emulator/emulation.js';
import { loadImage, variantImage } from '../emulator/images.js';
import { describeAgainst, type ReferenceProgram } from './support.js';

const PYTHON: ReferenceProgram = {
  name: 'python3',
  debian: 'python3',
  command: 'python3',
  probe: ['-c', 'import zlib'],
};
const CLIENT = fileURLToPath(new URL('link_client.py', import.meta.url));
const ROOT = new URL('../../', import.meta.url);
const TICKS = 300;
const ZERO_COUNTS = 600;

const rowOf = (rows: readonly { readonly name: string }[], name: string) => rows.findIndex((row) => row.name === name);
const hex = (bytes: Uint8Array): string => Buffer.from(bytes).toString('hex');

/** Input blocks of a box at rest whose voltage and wires move, and what the module of the desk puts out. */
function deskTicks(): { readonly blocks: string[]; readonly outputs: string } {
  const module = new WasmController(loadControlModule());
  const blocks: string[] = [];
  let outputs = '';
  for (let tick = 0; tick < TICKS; tick++) {
    module.digital_inputs = INPUT_STOP_CHAIN | (tick % 90 < 60 ? INPUT_BREAKAWAY : 0);
    module.reference = 2048;
    module.x_steps = (tick % 7) - 3;
    module.readings.fill(124 + (tick % 50));
    blocks.push(hex(module.inputs));
    module.tick();
    const { buffer, byteOffset } = module.output.integers;
    outputs += hex(new Uint8Array(buffer, byteOffset, OUTPUT_BYTES));
  }
  return { blocks, outputs };
}

it('has golden frames that the codec of the host makes', () => {
  for (const [what, service, status, sequence, payload, line] of GOLDEN_FRAMES) {
    const frame = { service, status, sequence, payload: Uint8Array.from(Buffer.from(payload, 'hex')) };
    expect(hex(encodeFrame(frame)), what).toBe(line);
  }
});

it.each(LINK_TIMES)('has the times of the C: $meaning', ({ where: [file, text] }) => {
  expect(readFileSync(new URL(file, ROOT), 'utf8')).toContain(`#define ${text}\n`);
});

describeAgainst(PYTHON, 'the page of the link', (python) => {
  const folder = folderWith({ 'variant.image': variantImage(1) });

  function ask(task: object): Promise<Record<string, unknown>> {
    return new Promise((resolve, reject) => {
      const client = execFile(python, ['-B', CLIENT], { maxBuffer: 1 << 26 }, (error, stdout, stderr) => {
        if (error) reject(new Error(stderr || error.message));
        else resolve(JSON.parse(stdout));
      });
      client.stdin?.end(JSON.stringify(task));
    });
  }

  it.each([
    ['the serial line', false, '', 1],
    // It went with the restart, into the loader, and out of it.
    ['USB', true, 'SNDF-E660583883124A2B', 4],
  ] as const)(
    'is enough to identify a box, set it, stream, compare in lockstep and flash, from a board without wires, over %s',
    async (_, usb, serial, ports) => {
      const emulation = await Emulation.start(folder, '--bare', ...(usb ? ['--usb'] : []));
      try {
        await found(emulation.tcp_port, usb, serial, ports);
      } finally {
        await emulation.stop();
      }
    },
  );

  async function found(port: number, usb: boolean, serial: string, ports: number): Promise<void> {
    const { blocks, outputs } = deskTicks();
    const shipped = readImage(loadImage(), 'standoff.image');
    const image = readImage(variantImage(1), 'variant.image');
    const found = await ask({
      host: '127.0.0.1',
      port,
      usb,
      golden: GOLDEN_FRAMES,
      id: PARAMETER_READING_ZERO_COUNTS,
      value: ZERO_COUNTS,
      blocks,
      image: join(folder, 'variant.image'),
    });
    expect(found.golden).toEqual(GOLDEN_FRAMES.map((frame) => frame[5]));
    expect(found.decoded).toEqual(GOLDEN_FRAMES.map((frame) => frame.slice(1, 5)));
    const known = {
      protocol: numberOf(FORMAT_NUMBER_ROWS, 'PROTOCOL'),
      in_loader: 0,
      image_sha256: shipped.image_sha256,
    };
    expect(found.identity).toMatchObject({ ...known, slot: 0, parameter_generation: 0 });
    expect(found.state).toMatchObject({ mode: MODE_FAULT, desk: 0 });
    expect(found.refused).toBe(rowOf(STATUS_ROWS, 'busy'));
    expect(found.desk).toMatchObject({ mode: MODE_FAULT, desk: 1 });
    expect(found.set).toEqual({ generation: 1, read: ZERO_COUNTS });
    expect(found.telemetry).toMatchObject({ lost: 0, apart: [10] });
    expect((found.telemetry as { rows: number }).rows).toBeGreaterThan(20);
    expect(found.outputs).toBe(outputs);
    expect(found.restarted).toMatchObject({ boot: rowOf(BOOT_ROWS, 'restart'), parameter_generation: 1 });
    expect(found.flash).toMatchObject({
      slot: 1,
      generation: 2,
      written: image.body.length,
      computed: image.image_sha256,
    });
    expect(found.flash).toMatchObject({
      after: { ...known, image_sha256: image.image_sha256, slot: 1, boot: rowOf(BOOT_ROWS, 'update') },
    });
    expect(found).toMatchObject({ serial, ports });
  }
});
