/** The emulated board with loader and image as shipped, and a host on its line: what tests of updates and of what is kept ask and do. */
import { expect } from 'vitest';
import { ORIGIN_ROWS, SLOT_ROWS } from '../../firmware/wire/link-rows.js';
import { PARAMETER_ROWS } from '../../firmware/wire/parameter-rows.js';
import { EmulatedBoard, LinkPort, NO_TIMES } from '../../sim/emulator/index.js';
import { decodeLayout, encodeLayout, type Values } from '../../sim/link/index.js';
import { RESTING } from './cutting.js';
import { loadImage, loadLoader } from './images.js';
import { enterLoader, statusName, update } from './updating.js';

const MS_ns = 1e6;
const S_ns = 1e9;
export const PIERCE = PARAMETER_ROWS.find(({ name }) => name === 'pierce_ms')!;

/** The board at hand, and the host on its line. */
export const at = {} as { emulated: EmulatedBoard; link: LinkPort };

/** A new board, which nobody has asked yet. */
export async function newBoard(): Promise<void> {
  at.emulated = await EmulatedBoard.create({ loader: loadLoader(), image: loadImage(), times: NO_TIMES });
  at.emulated.pins.setLines(RESTING);
}

/** @returns the fields of the answer */
export const ask = (service: string, payload?: Uint8Array, layout = service): Values =>
  decodeLayout(layout, at.link.ask(service, payload).payload)!.values;
export const identity = () => ask('identity');
const slot = (which: number): Values => ask('slot', encodeLayout('slot_request', { slot: which }));
export const holds = (which: number): string => SLOT_ROWS[slot(which).holds as number].name;
/** Where the parameters come from: name of the row. */
export const origin = (): string => {
  const running = [0, 1].map(slot).find(({ runs }) => runs === 1)!;
  return ORIGIN_ROWS[running.origin as number].name;
};

/** Writes an image and starts it. */
export function flash(image: Uint8Array): void {
  at.link = enterLoader(at.emulated);
  expect(statusName(update(at.emulated, at.link, image))).toBe('done');
  at.link.ask('restart');
  at.link = new LinkPort(at.emulated);
}

/** Runs until the image ticks, and one more second. */
export function ticking(): void {
  const before = at.emulated.tick.count;
  expect(at.emulated.runUntil(() => at.emulated.tick.count > before + 3, 5 * S_ns)).toBe(true);
}

export function switchOn(): void {
  at.emulated.powerUp();
  at.emulated.pins.setLines(RESTING);
  at.link = new LinkPort(at.emulated);
  ticking();
}

export function pierce_ms(): number {
  const answer = at.link.ask('parameters-read', encodeLayout('span', { first: PIERCE.id, count: 1 }));
  return decodeLayout('values', answer.payload)!.records[0].value as number;
}

/** Sets and commits pierce_ms. */
export function keep(value: number): void {
  // The first ticks see voltage: nothing is filtered yet.
  at.emulated.run(600 * MS_ns);
  const staged = at.link.ask('parameters-stage', encodeLayout('values', {}, [{ id: PIERCE.id, value }]));
  expect(statusName(staged.status)).toBe('done');
  expect(statusName(at.link.ask('parameters-commit').status)).toBe('done');
}
