import { REFUSAL_ROWS } from '../../../firmware/wire/code-rows.js';
import {
  MODE_FOLLOW,
  MODE_HOLD,
  MODE_LIFT,
  MODE_LOWER,
  MODE_PIERCE,
  MODE_REST,
  MODE_RETRACT,
  MODE_SEEK,
  MODE_SETTLE,
  MODE_STRIKE,
  REFUSAL_NONE,
} from '../../../firmware/wire/codes.gen.js';
import { FLAG_ARC_OK, INPUT_KEY } from '../../../firmware/wire/layout.js';
import { fixed, TONE_ALARM, TONE_PLAIN, TONE_QUIET, TONE_STRONG } from '../text/index.js';
import type { NowRow } from './scene.js';
import type { SeenHistory } from './seen-history.js';
import { faultSentence, holdSentence, lamps, type ModeSentence, RETRACTING, type Said } from './sentences.js';

/** The mode of a watched box as a sentence: what it measures and believes, not what is true. */
export function seenSentence(history: SeenHistory, now: NowRow): ModeSentence {
  const { scene } = history;
  const plain = (text: string, detail = ''): ModeSentence => ({
    head: { text, tone: TONE_STRONG },
    detail: { text: detail, tone: TONE_QUIET },
  });
  switch (now.mode) {
    case MODE_REST:
      return plain('At rest: trigger off, Z belongs to the motion controller.', `${readiness(now)}.`);
    case MODE_SEEK:
      return plain(`Touching off${zWords(history.z_mm)}.`);
    case MODE_LIFT:
      return plain(`Rising to pierce height, ${fixed(scene.pierce_height_mm, 2)} mm.`);
    case MODE_STRIKE:
      return plain('Striking: trigger on, waiting for the arc.');
    case MODE_PIERCE:
      return plain(`Piercing at pierce height, ${fixed(scene.pierce_height_mm, 2)} mm.`);
    case MODE_LOWER:
      return plain(`Lowering to cut height, ${fixed(scene.cut_height_mm, 2)} mm.`);
    case MODE_SETTLE:
      return plain('Settling.', 'The torch moves along; the regulator takes over shortly.');
    case MODE_FOLLOW:
      return plain(
        `Following: standoff by voltage ${fixed(history.standoff_mm, 2)} mm, ` +
          `wanted ${fixed(scene.cut_height_mm, 2)}.`,
      );
    case MODE_HOLD:
      return holdSentence(now.hold);
    case MODE_RETRACT:
      return plain(RETRACTING);
    default:
      return faultSentence(now) ?? plain(`Mode ${now.mode}: unknown to this program.`);
  }
}

/** What would become of a torch request. */
function readiness(now: NowRow): string {
  if (now.refusal === REFUSAL_NONE) return 'A torch request would start a cut';
  return `A torch request would be refused: ${REFUSAL_ROWS[now.refusal]?.meaning ?? `reason ${now.refusal}`}`;
}

/** `: Z 3.20 mm below where the box took it over`. */
function zWords(z_mm: number): string {
  if (Number.isNaN(z_mm)) return '';
  return `: Z ${fixed(Math.abs(z_mm), 2)} mm ${z_mm > 0 ? 'above' : 'below'} where the box took it over`;
}

/** Inputs and outputs of a watched box, each as a word. */
export function seenLamps(now: NowRow): readonly { name: string; state: Said }[] {
  const word = (on: boolean, yes: string, no: string): Said =>
    on ? { text: yes, tone: TONE_STRONG } : { text: no, tone: TONE_PLAIN };
  const others = lamps(now).filter(({ name }) => name !== 'arc');
  const [trigger, ...rest] = others;
  return [
    { name: 'key', state: word((now.digital_inputs & INPUT_KEY) !== 0, 'ON', 'off') },
    trigger,
    { name: 'arc OK', state: word((now.flags & FLAG_ARC_OK) !== 0, 'YES', 'no') },
    { name: 'contact', state: word(now.relay !== 0, 'CLOSED', 'open') },
    ...rest,
  ];
}

/** One line that replaces the picture where there is no room, or on a pipe. */
export function seenStatus(history: SeenHistory): Said {
  const { now } = history;
  if (now === undefined) return { text: 'waiting for the first row', tone: TONE_PLAIN };
  const fault = faultSentence(now);
  if (fault) return { text: `fault ${fault.head.text.replace(/^Fault, |\.$/g, '')}`, tone: TONE_ALARM };
  const { head } = seenSentence(history, now);
  return { text: head.text, tone: head.tone };
}
