import { Command } from '@commander-js/extra-typings';
import {
  type FlashProgress,
  type FlashResult,
  flash as flashBox,
  type Identity,
  type Image,
  identityLine,
  moduleWords,
  readImage,
  withheldWords,
} from '../../link/index.js';
import { terminalStyle } from '../../views/text/index.js';
import { EXIT, interruptible } from '../base/command-line.js';
import { readBytes, shippedFile } from '../base/files.js';
import { ProgressDisplay } from '../base/progress.js';
import { baudOption, deskModule, explainedAt, followPort, portOption } from './port.js';

export const flashCommand = () =>
  new Command('flash')
    .description(
      'Writes an image into the slot of the box that is not in use, verifies it there, and starts it. Until it is ' +
        'verified and marked the box goes on to start the image that it has. Needs the arm key off and no cut ' +
        'under way; a fault or voltage at the tap is passed over in the desk state, with the outputs at rest. An image that ' +
        'fails three times in a row is given up: the box goes back to the one before it. What the box runs already is ' +
        'not written again.',
    )
    .addOption(portOption())
    .option('--image <file>', 'image file (default: the one that came with Standoff)')
    .addOption(baudOption())
    .option('--plain', 'ASCII only, without colour')
    .addHelpText('after', '\nExit status: 0 the box runs the image, 1 it runs another one, 2 refused or failed.');

export type FlashCommandOptions = ReturnType<ReturnType<typeof flashCommand>['opts']>;

/** Flashes a box. @returns the exit status @throws StandoffError with the box's reason and what to do */
export async function flash(options: FlashCommandOptions): Promise<number> {
  const image = imageFrom(options.image);
  const desk_sha256 = deskModule();
  const style = terminalStyle(process.env, process.stdout, options.plain);
  const display = new ProgressDisplay(process.stdout, style);
  display.say(`image: ${imageWords(image, desk_sha256)}`);
  const open = followPort((text) => display.say(text));
  let phase: FlashProgress['phase'] = 'ask';
  let answered = false;
  const show = progressTo(display, style.live);
  const result = await interruptible((signal) =>
    flashBox({
      open: () => open(options.port),
      image,
      baud: options.baud,
      signal,
      onBefore: (identity) => {
        answered = true;
        for (const line of beforeWords(identity, image, desk_sha256)) display.say(line);
      },
      onDesk: (sentence) => display.say(sentence),
      onProgress: (progress) => {
        phase = progress.phase;
        show(progress);
      },
      onNoAnswer: (what) => display.say(`No answer yet (${what}): switch the box off and on, or press its reset.`),
    })
      .catch(async (error) => {
        throw await explainedAt(error, options.port);
      })
      .finally(() => display.end()),
  );
  if (result === undefined) {
    display.say(
      answered ? (BROKEN_OFF[phase] ?? WRITES_ON) : 'Interrupted before a box had answered: nothing was written.',
    );
    return EXIT.interrupted;
  }
  for (const line of afterWords(result, image, desk_sha256)) display.say(line);
  return result.after.image_sha256 === image.image_sha256 ? EXIT.kept : EXIT.broken;
}

/** @throws StandoffError `image-…`, `file-…` */
function imageFrom(file: string | undefined): Image {
  const path = file ?? shippedFile('standoff.image');
  return readImage(readBytes(path, 'image'), path);
}

const imageWords = ({ version, body, module_sha256 }: Image, desk_sha256: string): string =>
  `version ${version}, ${body.length} bytes, module ${moduleWords(module_sha256, desk_sha256)}`;

function beforeWords(identity: Identity, image: Image, desk_sha256: string): string[] {
  const lines = [`in the box now: ${identityLine(identity, desk_sha256)}`];
  if (identity.image_sha256 === image.image_sha256) lines.push('The box says that it has this image.');
  return lines;
}

/** What the screen says of an image that was written, and does not run now. */
const WENT_BACK =
  'The new image failed three times in a row. The box has given it up and runs the one before it. standoff box events tells how it ' +
  'failed.';
const OTHER = 'This is NOT the image that was written. standoff box events tells what happened.';
const OLD_LOADER =
  'The loader in the box is older than this Standoff: it checks a checksum, does not compute the SHA-256, and does not go back from an ' +
  'image that fails. To renew it, copy standoff.uf2 to the drive that the board shows while its boot button is held.';

function afterWords(result: FlashResult, image: Image, desk_sha256: string): string[] {
  const { after, slot, generation, reconnects, written, compared, running } = result;
  const kept = after.image_sha256 === image.image_sha256;
  const withheld = withheldWords(running);
  const hash = compared ? `, SHA-256 ${image.image_sha256.slice(0, 12)} as computed in the box` : '';
  const place = `slot ${slot}, generation ${generation}`;
  const done = written
    ? `written and verified: ${place}; ${rateWords(result, image)}`
    : `nothing was written: ${place} holds it`;
  const again = reconnects === 0 ? '' : `, after ${reconnects} broken ${reconnects === 1 ? 'link' : 'links'}`;
  return [
    `${done}${hash}${again}`,
    `in the box now: ${identityLine(after, desk_sha256)}`,
    ...(kept ? [] : [after.boot === 'rolled-back' ? WENT_BACK : OTHER]),
    ...(withheld === undefined ? [] : [withheld]),
    ...(compared ? [] : [OLD_LOADER]),
  ];
}

/** How long it took, and on a line that did not break how much of its speed that is: ten bits a byte. */
function rateWords({ transfer_ms, baud, reconnects }: FlashResult, { body }: Image): string {
  const seconds = `${(transfer_ms / 1000).toFixed(1)} s`;
  if (baud === undefined || reconnects > 0) return seconds;
  const share = Math.round((100 * body.length * 10_000) / (transfer_ms * baud));
  return `${seconds}, ${share} % of a line of ${baud} bit/s`;
}

/** Once the image is marked, the box starts it. */
const WRITES_ON = 'Interrupted. The box starts the image that it had; flash again to go on.';
const BROKEN_OFF: Partial<Readonly<Record<FlashProgress['phase'], string>>> = {
  write: 'Interrupted while the image was being verified: standoff box tells which one the box has.',
  restart: 'Interrupted while the image was being started: it is in the box.',
};

const WORDS: Readonly<Record<FlashProgress['phase'], string>> = {
  ask: 'asking the box',
  'wait-for-loader': 'waiting for the loader',
  send: 'writing',
  write: 'verifying',
  restart: 'starting the image',
  reconnect: 'waiting for the link',
};

/** Each stage is said once on a pipe, and a broken link once in all: how often it broke stands in the last line. */
function progressTo(display: ProgressDisplay, live: boolean): (progress: FlashProgress) => void {
  const said = new Set<string>();
  let before = '';
  return ({ phase, sent, length, bytes_per_s }) => {
    if (phase === before && phase !== 'send') return;
    if (phase === 'reconnect' && !said.has(phase)) display.say('The link broke; it is resumed as often as it breaks.');
    before = phase;
    if (phase !== 'send' && !live && said.has(phase)) return;
    said.add(phase);
    if (phase === 'send') display.show({ what: WORDS[phase], done_bytes: sent, total_bytes: length, bytes_per_s });
    else display.stage(`${WORDS[phase]} ...`);
  };
}
