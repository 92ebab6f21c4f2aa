import { DUTY_PERIOD_S, DUTY_RULE_SOURCE, type DutyReport, sourceText, timeLine } from '../../electrical/index.js';
import { clockText, type DrawStyle, fixed } from '../../views/text/index.js';

/** Pauses that are listed one by one. */
const MOST_PAUSES = 12;

/** What the duty cycle asks for, one sentence each; `alarm` where it is exceeded. */
export function dutySentences(report: DutyReport): { readonly text: string; readonly alarm: boolean }[] {
  const { study, allowed_percent, cut_A, rated_A, rated_percent, length_s } = report;
  const over = study.busiest_s > study.allowed_s + 0.001;
  const scaled = cut_A === rated_A ? '' : `, from ${rated_percent} % at ${rated_A} A (${sourceText(DUTY_RULE_SOURCE)})`;
  const sentences = [
    {
      text:
        `Arc on for ${clockText(study.busiest_s)} of the busiest ten minutes (${fixed((100 * study.busiest_s) / DUTY_PERIOD_S, 1)} %); ` +
        `the supply allows ${clockText(study.allowed_s)} (${fixed(allowed_percent, 0)} %) at ${cut_A} A${scaled}.`,
      alarm: over,
    },
  ];
  for (const line of study.too_long) {
    sentences.push({ text: `The cut at line ${line} alone is longer than that: no pause helps it.`, alarm: true });
  }
  for (const { line, pause_s, at_s } of study.pauses.slice(0, MOST_PAUSES)) {
    sentences.push({
      text: `Pause ${clockText(Math.ceil(pause_s))} before line ${line}, at ${clockText(at_s)}.`,
      alarm: false,
    });
  }
  const left = study.pauses.length - MOST_PAUSES;
  if (left > 0) sentences.push({ text: `And ${left} more pauses; --json lists them all.`, alarm: false });
  if (study.pauses.length === 0 && study.too_long.length === 0) {
    const every_s = Math.max(length_s, study.repeat_s);
    const text = `No pause is needed. Repeated without end, one start every ${clockText(Math.ceil(every_s))} stays within the duty cycle.`;
    sentences.push({ text, alarm: false });
  }
  return sentences;
}

const BARS = { unicode: [' ', '░', '▒', '▓', '█'], ascii: [' ', '.', ':', '+', '#'] } as const;

/** Arc, pauses and how much of the allowance the last ten minutes used, along the time. */
export function timeLineLines({ study, paced_s }: DutyReport, width: number, { unicode }: DrawStyle): string[] {
  const steps = Math.max(10, width - 8);
  const { arc, pause, used } = timeLine(study, paced_s, steps);
  const bars = unicode ? BARS.unicode : BARS.ascii;
  const bar = (share: number) => bars[share <= 0.005 ? 0 : Math.min(4, 1 + Math.floor(share * 4))];
  const tenths = (share: number) => (share > 1.001 ? '!' : String(Math.min(9, Math.floor(share * 10 + 1e-9))));
  const end = clockText(paced_s);
  return [
    `arc     ${arc.map(bar).join('')}`,
    ...(study.pauses.length > 0 ? [`pause   ${pause.map((share) => (share > 0.005 ? 'P' : ' ')).join('')}`] : []),
    `used    ${used.map(tenths).join('')}`,
    `        0:00${end.padStart(steps - 4)}`,
  ].map((line) => line.trimEnd());
}

/** What the digits of the time line say. */
export const USED_WORDS =
  'Used: tenths of the allowance that the ten minutes up to there took; ! is more than all of it.';
