import { spawnSync } from 'node:child_process';
import { mkdtempSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { expect } from 'vitest';
import { SERVICE_ROWS } from '../../firmware/wire/link-rows.js';
import { decodeLayout, encodeLayout, type Values } from '../../sim/link/index.js';
import { answerLines, requestLine } from './line.js';

/** What a box on the PC's board says after some ticks. */
export interface BoxReport {
  /** Since the program's start. */
  readonly ticks: number;
  readonly digital_outputs: number;
  readonly trigger_edges: number;
  readonly z_steps: number;
  readonly lamp: number;
  readonly led: number;
  /** Raised in the desk state by a host, and the sum of the steps of that. */
  readonly trial_outputs: number;
  readonly trial_steps: number;
  readonly rests: number;
  readonly baud: number;
  /** Why it started. */
  readonly cause: number;
  readonly flash_operations: number;
  readonly answers: readonly BoxAnswer[];
}

export interface BoxAnswer {
  readonly service: string;
  readonly status: string;
  readonly sequence: number;
  readonly values: Values;
  readonly records: readonly Values[];
}

const REST_OF_ANSWER = 0x7f;

function readAnswer(line: ReturnType<typeof answerLines>[number]): BoxAnswer {
  const row = SERVICE_ROWS.find(({ code }) => code === (line.service & REST_OF_ANSWER));
  const empty = { values: {}, records: [] };
  const read =
    row === undefined || row.answer === '' || line.payload.length === 0
      ? empty
      : decodeLayout(row.answer, line.payload);
  if (read === undefined) throw new Error(`the answer to ${row?.name} has no whole payload`);
  return { service: row?.name ?? `${line.service}`, status: line.status, sequence: line.sequence, ...read };
}

/** Commands for a box on the PC's board, written down first and played at once: nothing depends on the machine's time. */
export class BoxScript {
  private readonly text: string[] = [];
  private reports = 0;
  private sequence = 100;

  /** A folder with the flash chip and the memory that outlives a restart; a new one unless given. */
  constructor(readonly folder: string = mkdtempSync(join(tmpdir(), 'standoff-boxed-'))) {}

  say(command: string): this {
    this.text.push(command);
    return this;
  }

  /** @returns number of the report that comes of it */
  run(ticks: number): number {
    this.text.push(`run ${ticks}`);
    return this.reports++;
  }

  /** From now on the program starts again: a report comes before. */
  restart(cause: number): number {
    this.text.push(`restart ${cause}`);
    return this.reports++;
  }

  bytes(line: Buffer): this {
    return this.say(`link ${line.toString('hex')}`);
  }

  /** A request and the few ticks in which it is answered. @returns number of the report */
  ask(service: string, values: Values = {}, records: readonly Values[] = [], ticks = 3): number {
    const row = SERVICE_ROWS.find(({ name }) => name === service)!;
    const payload = row.request === '' ? new Uint8Array() : encodeLayout(row.request, values, records);
    this.bytes(requestLine(service, payload, ++this.sequence));
    return this.run(ticks);
  }

  /** The last request once more, as after a lost answer. */
  again(ticks = 3): number {
    const last = this.text.findLast((line) => line.startsWith('link '))!;
    this.text.push(last);
    return this.run(ticks);
  }

  /** A report that comes of something else than `run`, such as a restart by the box itself. */
  expectReport(): number {
    return this.reports++;
  }

  play(program: string): BoxReport[] {
    const played = spawnSync(program, [this.folder], { input: `${this.text.join('\n')}\n`, maxBuffer: 1 << 28 });
    expect(played.stderr.toString()).toBe('');
    expect(played.status).toBe(0);
    const lines = played.stdout.toString().trim().split('\n');
    expect(lines).toHaveLength(this.reports);
    return lines.map((line) => {
      const { link, ...report } = JSON.parse(line) as BoxReport & { link: string };
      return { ...report, answers: answerLines(Buffer.from(link, 'hex')).map(readAnswer) };
    });
  }
}
