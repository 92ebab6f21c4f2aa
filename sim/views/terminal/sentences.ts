import { FAULT_ROWS, HOLD_ROWS, MODE_ROWS, REFUSAL_ROWS } from '../../../firmware/wire/code-rows.js';
import {
  MODE_FAULT,
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
import {
  INPUT_REQUEST,
  INPUT_STOP_CHAIN,
  OUTPUT_LATCHED_STOP,
  OUTPUT_PERMIT,
  OUTPUT_TRIGGER,
  OUTPUT_Z_OWNED,
} from '../../../firmware/wire/layout.js';
import { counted, fixed, TONE_ALARM, TONE_HOLD, TONE_PLAIN, TONE_QUIET, TONE_STRONG } from '../text/index.js';
import type { ViewHistory, WorstCause, WorstMoment } from './history.js';
import type { NowRow, ViewScene } from './scene.js';

/** A text and the tone that goes with it. */
export interface Said {
  readonly text: string;
  readonly tone: number;
}

/** One plain sentence for what the box does now, and a second for why or what to look at. */
export interface ModeSentence {
  readonly head: Said;
  readonly detail: Said;
}

const nothing: Said = { text: '', tone: TONE_PLAIN };

/** The mode as a sentence, for someone who has never seen a mode number. */
export function modeSentence(now: NowRow, scene: ViewScene): ModeSentence {
  const plain = (text: string, detail = nothing): ModeSentence => ({
    head: { text, tone: TONE_STRONG },
    detail,
  });
  const standoff = standoffWords(now.standoff_mm, scene);
  switch (now.mode) {
    case MODE_REST:
      return plain(
        'At rest: trigger off, Z belongs to the motion controller.',
        (now.digital_inputs & INPUT_REQUEST) !== 0 && now.refusal !== REFUSAL_NONE
          ? { text: `Not starting: ${REFUSAL_ROWS[now.refusal]?.meaning}.`, tone: TONE_ALARM }
          : nothing,
      );
    case MODE_SEEK:
      return plain(`Touching off: tip ${fixed(now.standoff_mm, 2)} mm above the sheet.`);
    case MODE_LIFT:
      return plain(`Rising to pierce height: ${fixed(now.standoff_mm, 2)} of ${height(scene)} mm.`);
    case MODE_STRIKE:
      return plain(`Striking at ${fixed(now.standoff_mm, 2)} mm: trigger on, waiting for the arc.`);
    case MODE_PIERCE:
      return plain(`Piercing at ${fixed(now.standoff_mm, 2)} mm, wanted ${height(scene)}.`);
    case MODE_LOWER:
      return plain(`Lowering to cut height: ${standoff}.`);
    case MODE_SETTLE:
      return plain(`Settling: ${standoff}.`, {
        text: 'The torch moves along; the regulator takes over shortly.',
        tone: TONE_QUIET,
      });
    case MODE_FOLLOW:
      return plain(`Following: ${standoff}.`);
    case MODE_HOLD: {
      const { head, detail } = holdSentence(now.hold);
      return { head: { ...head, text: head.text.replace(/\.$/, `: ${standoff}.`) }, detail };
    }
    case MODE_RETRACT:
      return plain(RETRACTING);
    default:
      return faultSentence(now) ?? plain(`Mode ${now.mode}: unknown to this program.`);
  }
}

export const RETRACTING = 'Retracting: trigger off; the torch rises once the voltage has fallen.';

/** Why the regulator has let go. */
export function holdSentence(hold: number): ModeSentence {
  const row = HOLD_ROWS[hold];
  return {
    head: { text: `Holding (${row?.name}).`, tone: TONE_HOLD },
    detail: { text: `Hold: ${row?.meaning}.`, tone: TONE_HOLD },
  };
}

/** What has happened and what to look at; undefined outside the mode fault. */
export function faultSentence(now: NowRow): ModeSentence | undefined {
  if (now.mode !== MODE_FAULT) return undefined;
  const fault = FAULT_ROWS[now.fault];
  return {
    head: { text: `Fault, ${fault?.name}: ${fault?.meaning}.`, tone: TONE_ALARM },
    detail: { text: `Check: ${fault?.remedy}.`, tone: TONE_ALARM },
  };
}

function height(scene: ViewScene): string {
  return fixed(scene.pierce_height_mm, 2);
}

/** `standoff 1.52 mm, wanted 1.50`. */
function standoffWords(standoff_mm: number, scene: ViewScene): string {
  return `standoff ${fixed(standoff_mm, 2)} mm, wanted ${fixed(scene.cut_height_mm, 2)}`;
}

/** How far off, as a word that needs no colour. */
export function deviationWords(error_mm: number, tolerance_mm: number): Said {
  if (Math.abs(error_mm) <= tolerance_mm) return { text: `as wanted, ±${fixed(tolerance_mm, 2)}`, tone: TONE_PLAIN };
  return {
    text: `${fixed(Math.abs(error_mm), 2)} mm too ${error_mm < 0 ? 'low' : 'high'}`,
    tone: TONE_ALARM,
  };
}

/** The outputs that someone would look for as lamps, each as a word. */
export function lamps(now: NowRow): readonly { name: string; state: Said }[] {
  const word = (on: boolean, yes: string, no: string, strong = TONE_STRONG): Said =>
    on ? { text: yes, tone: strong } : { text: no, tone: TONE_PLAIN };
  const trigger = (now.digital_outputs & OUTPUT_TRIGGER) !== 0;
  const stop_open = (now.digital_inputs & INPUT_STOP_CHAIN) === 0;
  const latched = (now.digital_outputs & OUTPUT_LATCHED_STOP) !== 0;
  return [
    { name: 'trigger', state: word(trigger, 'ON', 'off') },
    // An arc without a trigger is the one thing that must catch the eye.
    { name: 'arc', state: word(now.burning !== 0, 'BURNING', 'out', trigger ? TONE_STRONG : TONE_ALARM) },
    { name: 'permit', state: word((now.digital_outputs & OUTPUT_PERMIT) !== 0, 'GIVEN', 'withheld') },
    {
      name: 'stop',
      state: latched ? { text: 'LATCHED OPEN', tone: TONE_ALARM } : word(stop_open, 'OPEN', 'closed', TONE_ALARM),
    },
    { name: 'Z owner', state: word((now.digital_outputs & OUTPUT_Z_OWNED) !== 0, 'the box', 'the table') },
  ];
}

const PLACES: Readonly<Record<WorstCause, { where: string; parameter: string }>> = {
  corner: { where: 'at a corner', parameter: 'corner_fraction' },
  crossing: { where: 'at a kerf crossing', parameter: 'crossing_rise_mm_per_s' },
  settling: { where: 'while settling', parameter: 'settle_ms' },
  following: { where: 'while following', parameter: 'gain_p_per_s' },
};

/** The standoff of a worst moment, where it was, and the line of the program. */
export function worstWords(moment: WorstMoment, scene: ViewScene): string {
  const standoff_mm = scene.cut_height_mm + moment.error_mm;
  return `${fixed(standoff_mm, 2)} mm ${PLACES[moment.cause].where}, line ${moment.line}`;
}

/** Judgement of the run until now: how much was as wanted, and the worst. */
export function soFar(history: ViewHistory, scene: ViewScene): Said {
  if (history.cutting_ticks === 0) return { text: 'So far: nothing cut yet.', tone: TONE_QUIET };
  const share = Math.floor((1000 * history.within_ticks) / history.cutting_ticks) / 10;
  const text = `So far ${fixed(share, 1)} % within ±${fixed(scene.tolerance_mm, 2)} mm`;
  const low = lowSoFar(history, scene);
  if (low) return { text: `${text}. ${low.text}`, tone: TONE_ALARM };
  const worst = history.lowest ? `; lowest ${worstWords(history.lowest, scene)}` : '';
  return { text: `${text}${worst}.`, tone: TONE_PLAIN };
}

/** What has been too low until now, and the parameter that governs it; undefined when nothing was. */
export function lowSoFar(history: ViewHistory, scene: ViewScene): Said | undefined {
  const { lowest } = history;
  if (lowest === undefined || lowest.error_mm >= -scene.tolerance_mm) return undefined;
  const contacts = history.now?.contacts ?? 0;
  const touched = contacts > 0 ? `${counted(contacts, 'contact')}, lowest` : 'Lowest';
  const text = `${touched} ${worstWords(lowest, scene)}: see ${PLACES[lowest.cause].parameter}.`;
  return { text, tone: TONE_ALARM };
}

/** One line that replaces the picture where there is no room for it. */
export function statusLine(now: NowRow | undefined, scene: ViewScene): string {
  if (now === undefined) return 'waiting for the first tick';
  const name = now.mode === MODE_HOLD ? `hold ${HOLD_ROWS[now.hold]?.name}` : MODE_ROWS[now.mode]?.name;
  if (now.mode === MODE_FAULT) return `fault ${FAULT_ROWS[now.fault]?.name}`;
  return `${name} ${fixed(now.standoff_mm, 2)}/${fixed(scene.cut_height_mm, 2)} mm ${fixed(now.measured_V, 0)} V`;
}
