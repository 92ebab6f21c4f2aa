import { FAULT_ROWS, HOLD_ROWS, REFUSAL_ROWS } from '../../../firmware/wire/code-rows.js';
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
  FLAG_ARC_OK,
  INPUT_KEY,
  INPUT_REQUEST,
  INPUT_STOP_CHAIN,
  OUTPUT_LATCHED_STOP,
  OUTPUT_PERMIT,
  OUTPUT_TRIGGER,
  OUTPUT_Z_OWNED,
} from '../../../firmware/wire/layout.gen.js';
import {
  asSentence,
  counted,
  fixed,
  TONE_ALARM,
  TONE_HOLD,
  TONE_PLAIN,
  TONE_QUIET,
  TONE_STRONG,
} from '../text/index.js';
import { isBox, type NowRow, type ViewHistory, type ViewScene, type WorstCause, type WorstMoment } from './history.js';

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

type Height = 'pierce_height_mm' | 'cut_height_mm';

/** Modes with a target standoff: what the box does, which standoff, and what comes next. */
const WORKING: Readonly<Record<number, readonly [string, Height, string]>> = {
  [MODE_LIFT]: ['Rising to pierce height', 'pierce_height_mm', ''],
  [MODE_STRIKE]: ['Striking', 'pierce_height_mm', 'Trigger on, waiting for the arc.'],
  [MODE_PIERCE]: ['Piercing', 'pierce_height_mm', ''],
  [MODE_LOWER]: ['Lowering to cut height', 'cut_height_mm', ''],
  [MODE_SETTLE]: ['Settling', 'cut_height_mm', 'The torch moves along; the regulator takes over shortly.'],
  [MODE_FOLLOW]: ['Following', 'cut_height_mm', ''],
};

/** The mode as a sentence, for someone who has never seen a mode number. */
export function modeSentence(now: NowRow, scene: ViewScene): ModeSentence {
  const say = (text: string, detail = '', tone = TONE_QUIET): ModeSentence => ({
    head: { text, tone: TONE_STRONG },
    detail: { text: detail, tone },
  });
  const working = WORKING[now.mode];
  if (working) {
    const [doing, height, next] = working;
    return say(`${doing}: ${standoffWords(now, scene[height])}.`, next);
  }
  switch (now.mode) {
    case MODE_REST: {
      const refused = now.refusal === REFUSAL_NONE ? '' : (REFUSAL_ROWS[now.refusal]?.meaning ?? `${now.refusal}`);
      const rest = 'At rest: trigger off, Z belongs to the motion controller.';
      if (refused !== '' && (now.digital_inputs & INPUT_REQUEST) !== 0)
        return say(rest, `Not starting: ${refused}.`, TONE_ALARM);
      if (!isBox(scene)) return say(rest);
      return say(
        rest,
        refused === '' ? 'A torch request would start a cut.' : `A torch request would be refused: ${refused}.`,
      );
    }
    case MODE_SEEK:
      return say(`Touching off${tipWords(now)}.`);
    case MODE_HOLD: {
      const { name, meaning } = HOLD_ROWS[now.hold] ?? {};
      const standoff = now.truth ? `: ${standoffWords(now, scene.cut_height_mm)}` : '';
      const head = { text: `Holding (${name})${standoff}.`, tone: TONE_HOLD };
      return { head, detail: { text: `Hold: ${meaning}.`, tone: TONE_HOLD } };
    }
    case MODE_RETRACT:
      return say('Retracting: trigger off; the torch rises once the voltage has fallen.');
    case MODE_FAULT: {
      const { name, meaning, remedy } = FAULT_ROWS[now.fault] ?? {};
      const head = { text: `Fault ${name}: ${meaning}.`, tone: TONE_ALARM };
      return { head, detail: { text: asSentence(remedy ?? ''), tone: TONE_ALARM } };
    }
    default:
      return say(`Mode ${now.mode}: unknown to this program.`);
  }
}

/** `standoff 1.52 mm, target 1.50`; of a box that does not measure it only the target. */
function standoffWords({ standoff_mm, truth }: NowRow, target_mm: number): string {
  if (Number.isNaN(standoff_mm)) return `target standoff ${fixed(target_mm, 2)} mm`;
  const by = truth ? 'standoff' : 'standoff by voltage';
  return `${by} ${fixed(standoff_mm, 2)} mm, target ${fixed(target_mm, 2)}`;
}

function tipWords({ standoff_mm, torch_mm, truth }: NowRow): string {
  if (truth) return `: tip ${fixed(standoff_mm, 2)} mm above the sheet`;
  if (Number.isNaN(torch_mm)) return '';
  return `: Z ${fixed(Math.abs(torch_mm), 2)} mm ${torch_mm > 0 ? 'above' : 'below'} where the box took it over`;
}

/** One line for where there is no room for a picture, or on a pipe. */
export function statusLine({ now, scene }: ViewHistory): Said {
  return now === undefined ? { text: 'Waiting for the first row.', tone: TONE_PLAIN } : modeSentence(now, scene).head;
}

/** How far off, as a word that needs no colour. */
export function deviationWords(error_mm: number, tolerance_mm: number): Said {
  if (Math.abs(error_mm) <= tolerance_mm) return { text: `on target, ±${fixed(tolerance_mm, 2)}`, tone: TONE_PLAIN };
  return { text: `${fixed(Math.abs(error_mm), 2)} mm too ${error_mm < 0 ? 'low' : 'high'}`, tone: TONE_ALARM };
}

/** The inputs and outputs that someone would look for as lamps, each as a word. */
export function lamps(now: NowRow): readonly { name: string; state: Said }[] {
  const lamp = (name: string, on: boolean, yes: string, no: string, tone = TONE_STRONG) => ({
    name,
    state: on ? { text: yes, tone } : { text: no, tone: TONE_PLAIN },
  });
  const input = (bit: number) => (now.digital_inputs & bit) !== 0;
  const output = (bit: number) => (now.digital_outputs & bit) !== 0;
  const trigger = lamp('trigger', output(OUTPUT_TRIGGER), 'ON', 'off');
  // An arc without a trigger is the one thing that must catch the eye.
  const arc_tone = output(OUTPUT_TRIGGER) ? TONE_STRONG : TONE_ALARM;
  const arc = now.truth
    ? [trigger, lamp('arc', now.truth.burning !== 0, 'BURNING', 'out', arc_tone)]
    : [
        lamp('key', input(INPUT_KEY), 'ON', 'off'),
        trigger,
        lamp('arc OK', (now.flags & FLAG_ARC_OK) !== 0, 'YES', 'no'),
        lamp('contact', now.relay !== 0, 'CLOSED', 'open'),
      ];
  return [
    ...arc,
    lamp('permit', output(OUTPUT_PERMIT), 'GIVEN', 'withheld'),
    output(OUTPUT_LATCHED_STOP)
      ? lamp('stop', true, 'LATCHED', '', TONE_ALARM)
      : lamp('stop', !input(INPUT_STOP_CHAIN), 'CHAIN OPEN', 'intact', TONE_ALARM),
    lamp('Z owner', output(OUTPUT_Z_OWNED), 'the box', 'the table'),
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

/** Judgement of the run until now, full and short: how much was on target, and the worst. */
export function soFar(history: ViewHistory): readonly [Said, Said] {
  const { scene, lowest, cutting_ticks, within_ticks } = history;
  const say = (text: string, tone = TONE_PLAIN): Said => ({ text, tone });
  const nothing = say('So far: nothing cut yet.', TONE_QUIET);
  if (cutting_ticks === 0) return [nothing, nothing];
  const share = Math.floor((1000 * within_ticks) / cutting_ticks) / 10;
  const text = `So far ${fixed(share, 1)} % within ±${fixed(scene.tolerance_mm, 2)} mm`;
  if (lowest === undefined || lowest.error_mm >= -scene.tolerance_mm) {
    const full = say(`${text}${lowest ? `; lowest ${worstWords(lowest, scene)}` : ''}.`);
    return [full, full];
  }
  const contacts = history.now?.truth?.contacts ?? 0;
  const touched = contacts > 0 ? `${counted(contacts, 'contact')}, lowest` : 'Lowest';
  const low = `${touched} ${worstWords(lowest, scene)}: see ${PLACES[lowest.cause].parameter}.`;
  return [say(`${text}. ${low}`, TONE_ALARM), say(low, TONE_ALARM)];
}
