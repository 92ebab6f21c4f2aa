import { spawnSync } from 'node:child_process';
import { createHash } from 'node:crypto';
import { mkdtempSync, readFileSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { crc32 } from 'node:zlib';
import { expect, it } from 'vitest';
import { SLOT_ROWS } from '../../firmware/wire/link-rows.js';
import { decodeLayout } from '../../sim/link/index.js';
import { describeAgainst } from '../reference/support.js';
import { type AnswerLine, answerLines, requestLine } from './line.js';
import { buildLoaderProgram, GCC } from './loader-native.js';
import { boardNumber, madeBody, madeHead, placeImage } from './made-image.js';

/** On the desk's line these turn the key, go over to the other way, and let two seconds pass. */
const TURN_KEY = Buffer.from([1, 0]);
const OTHER_WAY = Buffer.from([2, 0]);
const TWO_SECONDS = Buffer.from([3, 0]);
const OLD = madeBody(6000, 1);
const NEW = madeBody(5000, 2);

describeAgainst(GCC, 'the loader', (gcc) => {
  const program = buildLoaderProgram(gcc, 'loader-desk');

  /** A chip with one image, generation 5, in slot 0. */
  const usual = (): Buffer => {
    const chip = Buffer.alloc(boardNumber('FLASH_BYTES'), 0xff);
    placeImage(chip, 0, OLD, 5);
    return chip;
  };

  interface Session {
    readonly answers: readonly AnswerLine[];
    readonly chip: Buffer;
    readonly status: number | null;
  }

  function session(chip: Buffer, lines: readonly Buffer[], mode = ''): Session {
    const file = join(mkdtempSync(join(tmpdir(), 'standoff-chip-')), 'chip');
    writeFileSync(file, chip);
    const run = spawnSync(program, [file, mode], { input: Buffer.concat(lines) });
    expect(run.stderr.toString()).toBe('');
    return { answers: answerLines(run.stdout), chip: readFileSync(file), status: run.status };
  }

  const write = (offset: number, bytes: Buffer): Buffer => {
    const place = Buffer.alloc(4);
    place.writeUInt32LE(offset);
    return requestLine('update-write', Buffer.concat([place, bytes]));
  };
  const begin = (head = madeHead(NEW)): Buffer => requestLine('update-begin', head);
  const finish = requestLine('update-finish');
  const pages = (body: Buffer): Buffer[] =>
    Array.from({ length: Math.ceil(body.length / 256) }, (_, i) =>
      write(i * 256, body.subarray(i * 256, i * 256 + 256)),
    );
  const last = ({ answers }: Session): AnswerLine => answers.at(-1)!;
  const stateOf = ({ payload }: AnswerLine): readonly number[] => [
    payload[0],
    ...[4, 8, 12].map((offset) => payload.readUInt32LE(offset)),
  ];

  it('writes a new image into the slot that does not boot and marks it with the next generation', () => {
    const { answers, chip } = session(usual(), [
      begin(),
      ...pages(NEW),
      finish,
      finish,
      finish,
      finish,
      finish,
      finish,
    ]);
    expect(answers.at(-1)!.status).toBe('done');
    expect(stateOf(answers.at(-1)!)).toEqual([1, NEW.length, NEW.length, 6]);
    const at = boardNumber('SLOT_1_AT');
    expect(chip.subarray(at, at + 252)).toEqual(madeHead(NEW, { generation: 6 }));
    expect(chip.subarray(at + 256, at + 256 + NEW.length)).toEqual(NEW);
    expect(session(chip, [requestLine('identity')]).answers[0].payload[4 + 2], 'slot that boots').toBe(1);
  });

  it('leaves the old image in force until the end is asked for, however long that takes', () => {
    const pings = Array(40).fill(requestLine('ping'));
    const { chip } = session(usual(), [begin(), ...pages(NEW), ...pings]);
    const at = boardNumber('SLOT_1_AT');
    expect(chip.subarray(at + 256, at + 256 + NEW.length), 'all of the body is there').toEqual(NEW);
    expect(session(chip, [requestLine('identity')]).answers[0].payload[6], 'slot that boots').toBe(0);
  });

  it('goes on where a broken session stood, and says where', () => {
    const { answers } = session(usual(), [begin(), ...pages(NEW).slice(0, 7), begin()]);
    expect(last({ answers } as Session).status).toBe('done');
    expect(stateOf(answers.at(-1)!)[1]).toBe(7 * 256);
  });

  it('begins again when another image is announced', () => {
    const other = madeBody(4000, 3);
    const lines = [begin(), ...pages(NEW), begin(madeHead(other)), ...Array(20).fill(begin(madeHead(other)))];
    expect(stateOf(last(session(usual(), lines)))[1]).toBe(0);
  });

  it('takes bytes again that it has, and goes on behind them', () => {
    const { answers } = session(usual(), [begin(), write(0, NEW.subarray(0, 200)), write(100, NEW.subarray(100, 300))]);
    expect(answers.map(({ status }) => status)).toEqual(['done', 'done', 'done']);
    expect(stateOf(answers.at(-1)!)[1]).toBe(300);
  });

  const refused = (name: string, status: string, lines: readonly Buffer[], mode = ''): void =>
    it(`refuses ${name}: ${status}`, () => {
      const before = usual();
      const found = session(before, lines, mode);
      expect(last(found).status).toBe(status);
      const old = boardNumber('SLOT_0_AT');
      const kept = old + 256 + OLD.length;
      expect(found.chip.subarray(old, kept), 'the image that boots').toEqual(before.subarray(old, kept));
    });

  const spoilt = madeHead(NEW);
  spoilt[60] ^= 4;
  refused('an image for another board', 'board', [begin(madeHead(NEW, { board: 0x2350 }))]);
  refused('an image of a format that it does not know', 'format', [begin(madeHead(NEW, { format: 2 }))]);
  refused('what is no image', 'format', [begin(Buffer.alloc(252, 0x55))]);
  refused('an image that belongs elsewhere in memory', 'format', [begin(madeHead(NEW, { entry: 0x20001000 }))]);
  refused('a head with a flipped bit', 'checksum', [begin(spoilt)]);
  refused('an image that is too long', 'too-long', [begin(madeHead(NEW, { length: 0x10004 }))]);
  refused('an image of no length', 'range', [begin(madeHead(NEW, { length: 0 }))]);
  refused('an image of a length that is not whole words', 'range', [begin(madeHead(NEW, { length: 4998 }))]);
  refused('an image that brings its own generation', 'range', [begin(madeHead(NEW, { generation: 9 }))]);
  refused('a truncated head', 'length', [requestLine('update-begin', madeHead(NEW).subarray(0, 251))]);
  refused('an update with the key on', 'key', [TURN_KEY, begin()]);
  refused('the last step with the key on', 'key', [begin(), ...pages(NEW), TURN_KEY, finish]);
  refused('bytes that do not follow', 'place', [begin(), write(256, NEW.subarray(256, 512))]);
  refused('bytes beyond the announced length', 'too-long', [
    begin(),
    ...pages(Buffer.concat([NEW, Buffer.alloc(100)])),
  ]);
  refused('bytes without a beginning', 'not-begun', [write(0, NEW.subarray(0, 8))]);
  refused('a place without bytes', 'length', [begin(), requestLine('update-write', Buffer.alloc(3))]);
  refused('an end without a beginning', 'not-begun', [finish]);
  refused('an end before all has come', 'incomplete', [begin(), ...pages(NEW).slice(0, -1), finish]);
  refused('a body that does not match its checksum', 'checksum', [begin(), ...pages(madeBody(5000, 9)), finish]);
  refused('a body that is not the one of its head, though its checksum is right', 'hash', [
    begin(madeHead(NEW, { body_crc: crc32(madeBody(5000, 9)) })),
    ...pages(madeBody(5000, 9)),
    ...Array(9).fill(finish),
  ]);
  refused('to go on with a chip that does not take the bytes', 'flash', [begin(), ...pages(NEW), finish], 'deaf');
  refused('a service that only the box offers', 'unknown', [requestLine('telemetry', Buffer.alloc(2))]);
  refused('a speed that the line cannot run at', 'speed', [requestLine('line-speed', Buffer.from([1, 0, 0, 0]))]);
  refused('a slot that there is not', 'range', [requestLine('slot', Buffer.from([2, 0, 0, 0]))]);
  refused('a slot of half a number', 'length', [requestLine('slot', Buffer.from([1, 0]))]);
  refused('to look into a slot with the key on', 'key', [TURN_KEY, requestLine('slot', Buffer.alloc(4))]);
  refused('an identity request with a payload', 'length', [requestLine('identity', Buffer.alloc(1))]);

  it('answers identity and ping, and restarts when asked to', () => {
    const { answers, status } = session(usual(), [
      requestLine('identity', undefined, 700),
      requestLine('ping'),
      requestLine('restart'),
    ]);
    expect(answers.map((answer) => [answer.service, answer.status, answer.sequence])).toEqual([
      [0x81, 'done', 700],
      [0x82, 'done', 1],
      [0x98, 'done', 1],
    ]);
    const { payload } = answers[0];
    expect(payload.length).toBe(116);
    expect([payload.readUInt16LE(0), payload.readUInt16LE(2), payload[4], payload[5], payload[6]]).toEqual([
      boardNumber('PROTOCOL'),
      boardNumber('BOARD_KIND'),
      1,
      2,
      0,
    ]);
    expect(payload.readUInt32LE(8), 'generation').toBe(5);
    expect(status, 'restart wanted').toBe(3);
  });

  const slot = (number: number): Buffer => {
    const request = Buffer.alloc(4);
    request.writeUInt32LE(number);
    return requestLine('slot', request);
  };
  const slotOf = ({ status, payload }: AnswerLine) => {
    expect(status).toBe('done');
    return decodeLayout('slot', payload)!.values;
  };
  const holding = (name: string) => SLOT_ROWS.find((row) => row.name === name)!.code;
  const GIVEN_UP_AT = 252;

  it('computes the SHA-256 of a body as this computer does, whatever its length', () => {
    const chip = usual();
    const program_again = (length: number) => {
      const body = madeBody(length, length);
      placeImage(chip, 0, body, 5);
      const found = slotOf(session(chip, [slot(0)]).answers[0]);
      expect(Buffer.from(found.body_sha256 as Uint8Array).toString('hex'), `${length} bytes`).toBe(
        createHash('sha256').update(body).digest('hex'),
      );
      expect(found).toMatchObject({ holds: holding('valid'), runs: 1, generation: 5 });
    };
    // Every place of the end in a block of 64 bytes, and the longest body.
    for (let length = 192; length <= 320; length += 4) program_again(length);
    program_again(65_536);
  });

  it('tells what each slot holds: nothing, an image, one that it went back from, one that was changed', () => {
    const chip = usual();
    expect(slotOf(session(chip, [slot(1)]).answers[0])).toMatchObject({ holds: holding('empty'), runs: 0 });
    placeImage(chip, 1, NEW, 6);
    expect(slotOf(session(chip, [slot(1)]).answers[0])).toMatchObject({ holds: holding('valid'), runs: 1 });
    const given_up = Buffer.from(chip);
    given_up[boardNumber('SLOT_1_AT') + GIVEN_UP_AT] ^= 1;
    expect(slotOf(session(given_up, [slot(1)]).answers[0])).toMatchObject({ holds: holding('failed'), runs: 0 });
    expect(slotOf(session(given_up, [slot(0)]).answers[0])).toMatchObject({ holds: holding('valid'), runs: 1 });
    chip[boardNumber('SLOT_1_AT') + 300] ^= 1;
    const damaged = slotOf(session(chip, [slot(1)]).answers[0]);
    expect(damaged).toMatchObject({ holds: holding('damaged'), runs: 0, generation: 6 });
    expect(damaged.body_sha256).not.toEqual(damaged.image_sha256);
  });

  it('never starts a body that is not the one of its head, though every checksum is right', () => {
    const chip = usual();
    const other = madeBody(5000, 9);
    const wrong = madeHead(NEW, { generation: 6, body_crc: crc32(other) });
    wrong.copy(chip, boardNumber('SLOT_1_AT'));
    other.copy(chip, boardNumber('SLOT_1_AT') + 256);
    expect(session(chip, [requestLine('identity')]).answers[0].payload[6]).toBe(0);
    expect(slotOf(session(chip, [slot(1)]).answers[0])).toMatchObject({ holds: holding('damaged') });
  });

  it('gives an image a generation above that of one that it went back from', () => {
    const chip = usual();
    placeImage(chip, 1, madeBody(4000, 3), 6);
    chip[boardNumber('SLOT_1_AT') + GIVEN_UP_AT] = 0;
    const { answers } = session(chip, [begin(), ...pages(NEW), ...Array(9).fill(finish)]);
    expect(stateOf(answers.at(-1)!)).toEqual([1, NEW.length, NEW.length, 7]);
  });

  it('writes nothing when the image that it starts is announced once more, and says that all of it is there', () => {
    const before = usual();
    const { answers, chip, status } = session(before, [begin(madeHead(OLD)), finish, slot(0), requestLine('restart')]);
    expect(answers.map((answer) => answer.status)).toEqual(['done', 'done', 'done', 'done']);
    expect(stateOf(answers[0])).toEqual([0, OLD.length, OLD.length, 5]);
    expect(slotOf(answers[2])).toMatchObject({ holds: holding('valid') });
    expect(status, 'restart wanted').toBe(3);
    expect(Buffer.compare(chip, before)).toBe(0);
  });

  it('writes an image again that differs in its head alone', () => {
    const { answers } = session(usual(), [begin(madeHead(OLD, { export_table: 8 })), finish]);
    expect(answers.map((answer) => answer.status)).toEqual(['done', 'incomplete']);
  });

  it('says that the image is on trial once it has been written', () => {
    const { answers } = session(usual(), [begin(), ...pages(NEW), ...Array(9).fill(finish), slot(1), slot(0)]);
    expect(slotOf(answers.at(-2)!)).toMatchObject({ holds: holding('trial'), runs: 1, generation: 6 });
    expect(slotOf(answers.at(-1)!)).toMatchObject({ holds: holding('valid'), runs: 0, generation: 5 });
  });

  it('keeps an update to the way over which it was begun, until that way is silent', () => {
    const other = madeHead(madeBody(4000, 3));
    const meddling = [begin(other), write(0, NEW.subarray(0, 9)), finish, requestLine('restart')];
    const statuses = (lines: readonly Buffer[]) => session(usual(), lines).answers.map((answer) => answer.status);
    const first = [begin(), ...pages(NEW).slice(0, 3)];
    const refusals = ['other-host', 'other-host', 'other-host', 'other-host'];
    const { answers, status } = session(usual(), [...first, OTHER_WAY, ...meddling, OTHER_WAY, begin()]);
    expect(answers.slice(4).map((answer) => answer.status)).toEqual([...refusals, 'done']);
    expect(stateOf(answers.at(-1)!)[1], 'the update goes on where it stood').toBe(3 * 256);
    expect(status, 'no restart').toBe(0);
    expect(statuses([...first, OTHER_WAY, TWO_SECONDS, begin(other)]).at(-1)).toBe('done');
    expect(statuses([...first, OTHER_WAY, requestLine('identity'), requestLine('ping')]).slice(4)).toEqual([
      'done',
      'done',
    ]);
  });

  it('says that no slot holds an image, and takes the first one into slot 0', () => {
    const blank = Buffer.alloc(boardNumber('FLASH_BYTES'), 0xff);
    const { answers } = session(blank, [requestLine('identity'), begin(), ...pages(NEW), ...Array(6).fill(finish)]);
    expect([answers[0].payload[5], answers[0].payload[6]]).toEqual([8, 255]);
    expect(stateOf(answers.at(-1)!)).toEqual([0, NEW.length, NEW.length, 1]);
  });

  it('boots the older image when the newer one is damaged in any of its parts', () => {
    for (const offset of [0, 20, 90, 248, 256, 256 + NEW.length - 1]) {
      const chip = usual();
      placeImage(chip, 1, NEW, 6);
      expect(session(chip, [requestLine('identity')]).answers[0].payload[6]).toBe(1);
      chip[boardNumber('SLOT_1_AT') + offset] ^= 1;
      expect(session(chip, [requestLine('identity')]).answers[0].payload[6], `byte ${offset}`).toBe(0);
    }
  });
});
